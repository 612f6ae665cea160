"""Date marking and holding times against published examples and rule texts.

Sources
- SNHD: Southern Nevada Health District, "How long can I keep TCS food?" (FAQ). [read]
- NC: North Carolina date-marking handout (Food Code adoption). [read]
- CFP: Conference for Food Protection 2016, issue I-034, example in the text. [read]
- 3-501.17: FDA Food Code, as adopted by Minnesota (Rules 4626.0400): 7 calendar days, the day
  of preparation or opening being day 1, required when held more than 24 h. [read]
- FDF: Food and Drink Federation guidance: a use-by includes the printed day and ends at its
  midnight. [read]
- Zones and clock changes: IANA time zone database, as carried by Python's zoneinfo.
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from kegsafe.rules.date_marking import (
    FrozenSpan,
    counted_last_date,
    day_one,
    elapsed_end,
    end_of,
    last_date,
)

NEW_YORK, LONDON = ZoneInfo("America/New_York"), ZoneInfo("Europe/London")
FROZEN_3_TO_10_OCTOBER = (FrozenSpan(date(2026, 10, 3), date(2026, 10, 10)),)


def test_t01_snhd_prepared_on_1_april_lasts_to_7_april():
    assert last_date(date(2026, 4, 1), 7) == date(2026, 4, 7)


def test_t02_snhd_a_mixture_keeps_the_date_of_what_was_cooked_first():
    cooked, combined = date(2026, 6, 1), date(2026, 6, 3)
    assert min(last_date(cooked, 7), last_date(combined, 7)) == date(2026, 6, 7)


def test_t03_nc_the_freeze_day_is_left_out_and_the_thaw_day_counts():
    last = counted_last_date(date(2026, 10, 1), 7, FROZEN_3_TO_10_OCTOBER, "north_carolina")
    assert last == date(2026, 10, 14)


def test_t04_house_convention_counts_every_date_not_wholly_frozen():
    last = counted_last_date(date(2026, 10, 1), 7, FROZEN_3_TO_10_OCTOBER, "conservative")
    assert last == date(2026, 10, 13)


def test_t05_cfp_prepared_at_23_00_on_1_january_lasts_to_7_january():
    started = datetime(2016, 1, 1, 23, 0, tzinfo=NEW_YORK)
    assert last_date(day_one(started, NEW_YORK, None), 7) == date(2016, 1, 7)


@pytest.mark.parametrize(
    ("first", "last"),
    [
        pytest.param(date(2024, 2, 26), date(2024, 3, 3), id="T06 leap year"),
        pytest.param(date(2026, 2, 26), date(2026, 3, 4), id="T07 common year"),
        pytest.param(date(2026, 12, 28), date(2027, 1, 3), id="T08 year end"),
    ],
)
def test_3_501_17_seven_days_run_over_month_and_year_ends(first, last):
    assert last_date(first, 7) == last


def test_t12_3_501_17_seven_days_from_the_fourth_of_may():
    """Only food held for more than 24 hours must be marked (T11); this program dates all of it."""
    assert last_date(date(2026, 5, 4), 7) == date(2026, 5, 10)


def test_t22_the_earlier_of_calendar_date_and_business_date_is_day_one():
    started = datetime(2026, 6, 6, 1, 30, tzinfo=NEW_YORK)
    first = day_one(started, NEW_YORK, date(2026, 6, 5))
    assert (first, last_date(first, 7)) == (date(2026, 6, 5), date(2026, 6, 11))


@pytest.mark.parametrize(
    ("zone", "first"),
    [
        pytest.param(NEW_YORK, date(2026, 6, 1), id="T23"),
        pytest.param(LONDON, date(2026, 6, 2), id="T24"),
    ],
)
def test_day_one_is_the_date_where_the_bar_stands(zone, first):
    assert day_one(datetime(2026, 6, 2, 3, 30, tzinfo=UTC), zone, None) == first


def test_t25_fdf_the_printed_day_is_included_and_its_midnight_ends_it():
    use_by = end_of(date(2026, 4, 7), LONDON)
    assert datetime(2026, 4, 7, 23, 59, tzinfo=LONDON) <= use_by
    assert datetime(2026, 4, 8, 0, 0, tzinfo=LONDON) > use_by


@pytest.mark.parametrize(
    ("zone", "start", "end"),
    [
        pytest.param(
            NEW_YORK, "2026-03-08T00:30:00-05:00", "2026-03-08T05:30:00-04:00", id="H06 spring"
        ),
        pytest.param(
            NEW_YORK, "2026-11-01T00:30:00-04:00", "2026-11-01T03:30:00-05:00", id="H07 autumn"
        ),
        pytest.param(
            LONDON, "2026-03-29T00:30:00+00:00", "2026-03-29T05:30:00+01:00", id="H08 spring"
        ),
        pytest.param(
            LONDON, "2026-10-25T00:30:00+01:00", "2026-10-25T03:30:00+00:00", id="H09 autumn"
        ),
    ],
)
def test_four_hours_are_elapsed_time_when_the_clocks_change(zone, start, end):
    begun = datetime.fromisoformat(start).astimezone(zone)
    assert elapsed_end(begun, 4).isoformat() == end


def test_a_day_of_23_hours_still_ends_at_its_own_midnight():
    spring = end_of(date(2026, 3, 29), LONDON)
    assert spring.isoformat() == "2026-03-29T23:59:59+01:00"


def test_where_clocks_go_back_over_midnight_the_second_last_hour_ends_the_day():
    # In Beirut the clocks of 25 October 2026 go from 00:00 back to 23:00 of the 24th.
    beirut = ZoneInfo("Asia/Beirut")
    end = end_of(date(2026, 10, 24), beirut).astimezone(UTC)
    midnight = datetime(2026, 10, 25, 0, 0, tzinfo=beirut).astimezone(UTC)
    assert midnight - end == timedelta(seconds=1)
    assert end.isoformat() == "2026-10-24T21:59:59+00:00"
