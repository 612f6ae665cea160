"""A thermometer is believed from a good check to the day the next is due, and no longer."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from kegsafe.rules.codes import code, codes
from kegsafe.rules.cold.thermometers import (
    Cause,
    Check,
    Doubt,
    Method,
    Result,
    Tolerance,
    judge,
    standing,
    tolerance,
)
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Severity
from kegsafe.science.ranges import OutsideRange

NOW = datetime(2026, 7, 4, 12, 0, tzinfo=UTC)
ONE_DEGREE = Tolerance(Decimal("1.0"), "a code", "read")


def ice(read, days_ago=0):
    return Check(NOW - timedelta(days=days_ago), Method.ICE_POINT, Decimal(read))


def boiling(read, **where):
    return Check(NOW, Method.BOILING_POINT, Decimal(read), **where)


def result(check):
    return judge(check, ONE_DEGREE).result


@pytest.mark.parametrize(
    ("read", "expected"),
    [
        ("0.0", Result.GOOD),
        ("1.0", Result.GOOD),
        ("-1.0", Result.GOOD),
        ("1.1", Result.FAILED),
        ("-1.1", Result.FAILED),
    ],
)
def test_in_ice_one_degree_either_way_is_allowed(read, expected):
    assert result(ice(read)) is expected


def test_water_boils_lower_on_the_mountain():
    """Published table: 95.0 degC at 5,000 ft, 1524 m (encyclopaedia, after NASA and NOAA)."""
    judged = judge(boiling("95.0", altitude_m=1524.0), ONE_DEGREE)
    assert judged.expected_degc == pytest.approx(Decimal("95.0"), abs=Decimal("0.15"))
    assert judged.result is Result.GOOD
    assert result(boiling("100.0", altitude_m=1524.0)) is Result.FAILED


@pytest.mark.parametrize(
    ("read", "expected"),
    [("100.4", Result.GOOD), ("100.8", Result.NOT_SHOWN), ("98.6", Result.NOT_SHOWN)],
)
def test_what_the_weather_could_explain_shows_nothing(read, expected):
    assert result(boiling(read, altitude_m=0.0)) is expected


def test_a_barometer_in_the_room_shows_more_than_the_altitude():
    assert result(boiling("100.8", air_bar_abs=1.01325)) is Result.GOOD
    assert result(boiling("101.2", air_bar_abs=1.01325)) is Result.FAILED


def test_boiling_water_at_no_known_height_shows_nothing():
    judged = judge(boiling("100.0"), ONE_DEGREE)
    assert judged.result is Result.NOT_SHOWN
    assert "altitude" in judged.finding.statement


def test_an_altitude_no_bar_has_is_refused_by_name():
    with pytest.raises(OutsideRange, match="altitude"):
        judge(boiling("100.0", altitude_m=9000.0), ONE_DEGREE)


def stands(*checks, **how):
    return standing(checks, NOW, ONE_DEGREE, **how)


def test_a_thermometer_never_checked_is_not_believed():
    never = stands()
    assert not never.is_believed
    assert never.accuracy_degc(ONE_DEGREE) == 1
    assert never.findings[0].severity is Severity.ASK


def test_a_good_check_adds_nothing_to_its_readings():
    good = stands(ice("0.2", 3))
    assert good.is_believed
    assert good.accuracy_degc(ONE_DEGREE) == 0
    assert good.due_at == NOW + timedelta(days=27)


@pytest.mark.parametrize(("days_ago", "is_overdue"), [(30, False), (31, True)])
def test_thirty_days_after_a_good_check_the_next_is_due(days_ago, is_overdue):
    assert stands(ice("0", days_ago)).is_overdue == is_overdue


def test_a_house_may_check_more_often():
    assert stands(ice("0", 8), every_days=7).is_overdue
    with pytest.raises(ValueError, match="every_days"):
        stands(ice("0", 8), every_days=0)


def test_a_failed_check_throws_doubt_back_to_the_last_good_one():
    failed = stands(ice("0", 20), ice("0.1", 10), ice("2.0", 2))
    assert failed.has_failed
    assert not failed.is_believed
    assert failed.is_doubtful(NOW - timedelta(days=5))
    assert failed.is_doubtful(NOW - timedelta(days=1))
    assert not failed.is_doubtful(NOW - timedelta(days=15))
    assert failed.findings[0].severity is Severity.STOP


def test_a_first_check_that_fails_throws_doubt_on_everything_before():
    assert stands(ice("2.0", 2)).is_doubtful(NOW - timedelta(days=4000))


def test_a_good_check_after_a_failed_one_ends_the_doubt_and_does_not_lift_it():
    mended = stands(ice("0", 20), ice("2.0", 10), ice("0", 9))
    assert mended.is_believed
    assert mended.is_doubtful(NOW - timedelta(days=12))
    assert not mended.is_doubtful(NOW - timedelta(days=5))


def test_a_check_that_shows_nothing_neither_helps_nor_harms():
    unsure = Check(NOW - timedelta(days=1), Method.BOILING_POINT, Decimal("100"))
    assert stands(ice("0", 40), unsure).is_overdue
    assert stands(ice("2.0", 5), unsure).has_failed


def test_a_check_still_to_come_says_nothing():
    assert stands(ice("0", -1)).last_good_at is None


@pytest.mark.parametrize("key", sorted(codes()))
def test_every_code_allows_one_degree_in_food_by_its_own_row_or_the_houses(key):
    house = House(code(key), ZoneInfo("UTC"))
    assert tolerance(house, date(2026, 7, 4), is_air=False).degc == 1
    assert tolerance(house, date(2026, 7, 4), is_air=True).degc == Decimal("1.5")


def doubts(*checks):
    return [(each.from_at, each.until_at, each.cause) for each in stands(*checks).doubts]


def test_what_was_never_checked_is_doubtful_since_ever():
    assert doubts() == [(None, None, Cause.NEVER_CHECKED)]
    assert "Not checked" in stands().findings[0].statement
    assert "doubtful" in stands().findings[0].statement


@pytest.mark.parametrize(("days_ago", "count"), [(29, 0), (30, 0), (31, 1)])
def test_a_late_check_throws_doubt_from_the_day_it_was_due(days_ago, count):
    found = doubts(ice("0", days_ago))
    assert len(found) == count
    if found:
        assert found == [(NOW - timedelta(days=1), None, Cause.LATE)]
        assert "Not checked" in stands(ice("0", days_ago)).findings[0].statement


def test_a_good_check_lifts_the_doubt_that_a_late_one_threw():
    assert doubts(ice("0", 80), ice("0.2", 3)) == []
    assert doubts(ice("0.2", 3)) == []


def test_a_failed_check_is_one_doubt_and_not_a_late_one_beside_it():
    begun = NOW - timedelta(days=80)
    assert doubts(ice("0", 80), ice("2.0", 3)) == [(begun, None, Cause.FAILED)]


def test_a_doubt_meets_a_stretch_that_shares_a_moment_with_it():
    doubt = Doubt(NOW, NOW + timedelta(hours=2), Cause.FAILED)
    hour = timedelta(hours=1)
    assert doubt.meets(NOW - hour, NOW + hour)
    assert not doubt.meets(NOW - hour, NOW)
    assert not doubt.meets(NOW + 2 * hour, NOW + 3 * hour)
    assert Doubt(None, None, Cause.LATE).meets(NOW, NOW + hour)
