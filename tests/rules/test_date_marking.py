"""The edges of counting days and hours."""

from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.codes import rules
from kegsafe.rules.date_marking import (
    FrozenSpan,
    counted_last_date,
    day_one,
    elapsed_end,
    freeze_conventions,
    last_date,
)

MONDAY = date(2026, 6, 1)
ZONE = ZoneInfo("America/New_York")
dates = st.dates(date(2020, 1, 1), date(2035, 12, 31))


def span(frozen_day: int, thawed_day: int | None) -> FrozenSpan:
    thawed_on = None if thawed_day is None else date(2026, 6, thawed_day)
    return FrozenSpan(date(2026, 6, frozen_day), thawed_on)


def test_a_count_of_one_day_ends_on_the_day_it_began():
    assert last_date(MONDAY, 1) == counted_last_date(MONDAY, 1, ()) == MONDAY


@pytest.mark.parametrize("days", [0, -1])
def test_a_count_below_one_day_is_refused(days):
    with pytest.raises(ValueError, match="1 or more"):
        last_date(MONDAY, days)
    with pytest.raises(ValueError, match="1 or more"):
        counted_last_date(MONDAY, days, ())


def test_food_with_no_thaw_record_counts_as_never_frozen():
    assert counted_last_date(MONDAY, 7, (span(3, None),)) == date(2026, 6, 7)


@pytest.mark.parametrize("convention", ["conservative", "north_carolina"])
def test_frozen_and_thawed_on_one_day_pauses_nothing(convention):
    assert counted_last_date(MONDAY, 7, (span(3, 3),), convention) == date(2026, 6, 7)


def test_frozen_overnight_pauses_nothing_in_the_careful_count():
    assert counted_last_date(MONDAY, 7, (span(3, 4),)) == date(2026, 6, 7)


def test_two_frozen_spans_each_pause_the_count():
    assert counted_last_date(MONDAY, 7, (span(2, 5), span(6, 9))) == date(2026, 6, 11)


def test_overlapping_spans_do_not_pause_twice():
    assert counted_last_date(MONDAY, 7, (span(2, 5), span(3, 5))) == date(2026, 6, 9)


def test_freezing_after_the_last_date_saves_nothing():
    assert counted_last_date(MONDAY, 7, (span(8, 20),)) == date(2026, 6, 7)


def test_day_one_counts_even_when_frozen_at_once():
    assert counted_last_date(MONDAY, 7, (span(1, 10),), "north_carolina") == date(2026, 6, 15)


def test_thawed_before_frozen_is_refused():
    with pytest.raises(ValueError, match="Thawed on 2026-06-02, before frozen on 2026-06-03"):
        span(3, 2)


def test_an_unknown_convention_is_refused():
    with pytest.raises(ValueError, match='"texas" is no way of counting'):
        counted_last_date(MONDAY, 7, (), "texas")


def test_the_codes_may_name_exactly_the_conventions_on_file():
    assert set(rules()["date_marking.freeze_counts"].words) == set(freeze_conventions())


@given(first=dates, days=st.integers(1, 40), frozen_for=st.integers(0, 60), after=st.integers(0, 9))
def test_the_careful_count_never_outlasts_the_other(first, days, frozen_for, after):
    frozen_on = date.fromordinal(first.toordinal() + after)
    spans = (FrozenSpan(frozen_on, date.fromordinal(frozen_on.toordinal() + frozen_for)),)
    careful = counted_last_date(first, days, spans, "conservative")
    other = counted_last_date(first, days, spans, "north_carolina")
    assert last_date(first, days) <= careful <= other


def test_a_business_date_after_the_calendar_date_cannot_lengthen():
    started = datetime(2026, 6, 1, 18, 0, tzinfo=ZONE)
    assert day_one(started, ZONE, date(2026, 6, 2)) == date(2026, 6, 1)


def test_half_hours_count():
    start = datetime(2026, 6, 1, 12, 0, tzinfo=ZONE)
    assert elapsed_end(start, Decimal("1.5")) == datetime(2026, 6, 1, 13, 30, tzinfo=ZONE)


def test_a_moment_without_a_zone_is_refused():
    naive = datetime(2026, 6, 1, 12, 0)  # noqa: DTZ001 - the point of the test
    for ask in (
        lambda: day_one(naive, ZONE, None),
        lambda: elapsed_end(naive, 4),
    ):
        with pytest.raises(ValueError, match="has no zone"):
            ask()
