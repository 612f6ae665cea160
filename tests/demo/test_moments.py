"""A scenario's times are told from now, by the bar's own clock."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from kegsafe.demo.moments import Moments

NEW_YORK = ZoneInfo("America/New_York")


def _at(*when: int, fold: int = 0) -> Moments:
    return Moments(datetime(*when, tzinfo=NEW_YORK, fold=fold), NEW_YORK)


def test_days_ago_counts_the_bars_own_dates():
    just_after_midnight = Moments(datetime(2026, 6, 10, 4, 10, tzinfo=UTC), NEW_YORK)
    expected = datetime(2026, 6, 9, 17, 30, tzinfo=NEW_YORK)
    assert just_after_midnight.at("1 day ago 17:30") == expected


def test_hours_ago_are_elapsed_hours_over_a_change_of_the_clocks():
    half_past_three = _at(2026, 3, 8, 3, 30)
    half_past_midnight = datetime(2026, 3, 8, 0, 30, tzinfo=NEW_YORK)
    assert half_past_three.at("2 hours ago") == half_past_midnight


def test_minutes_ago_reach_back_over_midnight():
    moment = _at(2027, 1, 1, 0, 10).at("50 minutes ago")
    assert moment == datetime(2026, 12, 31, 23, 20, tzinfo=NEW_YORK)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("in 1 day", date(2028, 3, 1)),
        ("in 12 days", date(2028, 3, 12)),
        ("1 day ago", date(2028, 2, 28)),
        ("365 days ago", date(2027, 3, 1)),
    ],
)
def test_dates_are_told_from_today(text, expected):
    assert _at(2028, 2, 29, 12, 0).day(text) == expected


@pytest.mark.parametrize("text", ["yesterday", "3 days ago", "2 hours", "1 day ago 25:00", ""])
def test_another_way_to_tell_a_time_is_refused(text):
    with pytest.raises(ValueError, match=r"hour|time"):
        _at(2026, 6, 10, 12, 0).at(text)


@pytest.mark.parametrize("text", ["tomorrow", "3 days ago 15:30", "in 2 hours"])
def test_another_way_to_tell_a_date_is_refused(text):
    with pytest.raises(ValueError, match="is no date"):
        _at(2026, 6, 10, 12, 0).day(text)
