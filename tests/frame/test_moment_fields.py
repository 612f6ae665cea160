"""A day and a moment: in the venue's zone, in a year that can be."""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.frame.moment_fields import DayField, PastMomentField


@pytest.fixture(autouse=True)
def _in_new_york():
    with timezone.override("America/New_York"):
        yield


def test_a_moment_is_read_in_the_zone_of_the_venue():
    assert PastMomentField().clean("2026-04-07T18:30") == datetime(2026, 4, 7, 22, 30, tzinfo=UTC)


def test_an_empty_moment_means_now_and_is_none():
    assert PastMomentField().clean("") is None


@pytest.mark.parametrize("typed", ["2026-11-01T01:30", "2026-03-08T02:30"])
def test_an_hour_that_comes_twice_or_not_at_all_is_refused(typed):
    with pytest.raises(ValidationError, match="comes twice or not at all"):
        PastMomentField().clean(typed)


@pytest.mark.parametrize(
    "typed", ["0001-01-01T00:00", "0026-04-07T18:30", "1900-01-01T10:00", "2014-12-31T12:00"]
)
def test_a_moment_before_any_limit_on_file_is_a_slip_of_the_finger(typed):
    with pytest.raises(ValidationError) as refused:
        PastMomentField().clean(typed)
    assert refused.value.messages == [
        f'"{typed}" has a year that cannot be right here. Look at it again, such as 2026.'
    ]


def test_the_first_moment_of_2015_is_taken():
    assert PastMomentField().clean("2015-01-01T00:00") is not None


@pytest.mark.parametrize(
    ("typed", "day"),
    [("2015-01-01", date(2015, 1, 1)), ("2099-12-31", date(2099, 12, 31))],
)
def test_a_day_may_lie_between_2015_and_2099(typed, day):
    assert DayField().clean(typed) == day


@pytest.mark.parametrize("typed", ["2014-12-31", "2100-01-01", "0026-04-07", "9999-12-31"])
def test_a_day_of_another_year_is_refused(typed):
    with pytest.raises(ValidationError, match="has a year that cannot be right"):
        DayField().clean(typed)


@pytest.mark.parametrize("typed", ["7.4.2026", "04/07/2026", "2026-02-30", "soon"])
def test_a_day_in_another_order_is_refused(typed):
    with pytest.raises(ValidationError, match="year-month-day"):
        DayField().clean(typed)
