"""Each day is held to the limit of that day, and to what was known of its thermometer then."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.codes import code
from kegsafe.rules.cold.excursions import excursions
from kegsafe.rules.cold.held_limits import (
    Held,
    held_between,
    held_over,
    limits_of_days,
    record_over,
)
from kegsafe.rules.cold.thermometers import Cause, Doubt
from kegsafe.rules.facts import House
from kegsafe.rules.limits import LocalLimit

RULE = "cold_holding.maximum"
LONDON = ZoneInfo("Europe/London")
GAP = 3600


def second(*when, zone=LONDON):
    return int(datetime(*when, tzinfo=zone).timestamp())


def own(degc, from_day, approved_on=None):
    named = ("The authority", "Ref 1") if approved_on else ("", "")
    return LocalLimit(RULE, Decimal(degc), "degC", from_day, *named, approved_on, "mara")


def house(*limits, key="england"):
    return House(code(key), LONDON, limits)


def told(at_house, from_s, until_s):
    return [
        (begins, limit and limit.value)
        for begins, limit in limits_of_days(at_house, RULE, from_s, until_s)
    ]


def test_a_stricter_limit_holds_from_midnight_of_its_first_day():
    changed = house(own("5", date(2026, 4, 15)))
    begins = second(2026, 4, 14, 18)
    assert told(changed, begins, second(2026, 4, 16)) == [
        (begins, 8),  # SI 2013/2996, Schedule 4: 8 °C [read]
        (second(2026, 4, 15), 5),
    ]


@pytest.mark.parametrize(("until", "count"), [((2026, 4, 14, 23, 59), 1), ((2026, 4, 15, 0, 0), 2)])
def test_a_stretch_that_ends_before_the_change_knows_nothing_of_it(until, count):
    changed = house(own("5", date(2026, 4, 15)))
    assert len(told(changed, second(2026, 4, 14), second(*until))) == count


def test_a_looser_limit_holds_from_its_approval_on():
    loose = own("10", date(2026, 4, 1), approved_on=date(2026, 4, 10))
    found = told(house(loose), second(2026, 4, 1), second(2026, 4, 20))
    assert [value for _, value in found] == [8, 10]
    assert found[1][0] == second(2026, 4, 10)


def test_before_the_code_came_into_force_there_was_no_limit():
    """The row of SI 2013/2996 is valid from 13 December 2014."""
    found = told(house(), second(2014, 12, 12), second(2014, 12, 14))
    assert [value for _, value in found] == [None, 8]


def test_midnight_is_the_venues():
    """On 26 October 2025 the clocks went back, so that day began an hour earlier by UTC."""
    changed = house(own("5", date(2025, 10, 26)), own("4", date(2025, 10, 27)))
    found = told(changed, second(2025, 10, 25), second(2025, 10, 28))
    assert [datetime.fromtimestamp(at, UTC).hour for at, _ in found[1:]] == [23, 0]


def held(at_house, from_s, until_s, *, own_degc=None, doubts=()):
    return held_over(
        limits_of_days(at_house, RULE, from_s, until_s),
        until_s,
        own_degc=own_degc,
        doubts=doubts,
        off_degc=Decimal("1.0"),
    )


BEGIN, END = second(2026, 4, 13), second(2026, 4, 20)


def test_a_places_own_limit_counts_where_it_is_the_colder_one():
    changed = house(own("5", date(2026, 4, 15)))
    found = held(changed, BEGIN, END, own_degc=Decimal(6))
    assert [(each.limit, each.citation) for each in found] == [
        (600, "this place's own limit"),
        (500, "limit of the venue"),
    ]


def test_a_thermometer_counts_as_off_in_the_stretch_of_doubt_alone():
    begins, ends = (datetime(2026, 4, day, 9, tzinfo=UTC) for day in (14, 16))
    doubt = Doubt(begins, ends, Cause.FAILED)
    found = held(house(), BEGIN, END, doubts=[doubt])
    assert [(each.from_s, each.accuracy) for each in found] == [
        (BEGIN, 0),
        (int(begins.timestamp()), 100),
        (int(ends.timestamp()), 0),
    ]


def test_without_a_change_there_is_one_stretch():
    assert held(house(), BEGIN, END) == (Held(BEGIN, 800, 0, house_citation()),)


def house_citation():
    [(_, limit)] = limits_of_days(house(), RULE, BEGIN, END)
    return limit.citation


def over(readings, *changes, until_s):
    times, degrees = list(readings), list(readings.values())

    def record(begins, ends, each):
        limit = 32_767 if each.limit is None else each.limit
        return excursions(
            times,
            degrees,
            limit,
            longest_gap=GAP,
            accuracy=each.accuracy,
            start=begins,
            end=ends,
        )

    return record_over([Held(*each, "") for each in changes], until_s, record)


HOURLY = {k * 3600: 600 for k in range(11)}


def test_six_degrees_are_good_until_the_limit_becomes_five_and_not_after():
    found = over(HOURLY, (0, 800, 0), (5 * 3600, 500, 0), until_s=36_000)
    [excursion] = found.excursions
    assert (excursion.from_s, excursion.until_s) == (5 * 3600, 36_000)
    assert excursion.is_open
    assert not excursion.begins_above


def test_six_degrees_stay_an_excursion_when_the_limit_is_loosened_afterwards():
    found = over(HOURLY, (0, 500, 0), (5 * 3600, 800, 0), until_s=36_000)
    [excursion] = found.excursions
    assert (excursion.from_s, excursion.until_s) == (0, 5 * 3600)
    assert not excursion.is_open


def test_one_stay_above_both_limits_is_one_excursion():
    warm = HOURLY | {7200: 400, 6 * 3600: 950}
    found = over(warm, (0, 500, 0), (5 * 3600, 550, 0), until_s=36_000)
    last = found.excursions[-1]
    assert (last.from_s, last.until_s) == (7200, 36_000)
    assert (last.warmest_centi_degc, last.warmest_at_s) == (950, 6 * 3600)


def test_a_gap_over_a_change_is_one_gap():
    found = over({0: 300, 36_000: 300}, (0, 500, 0), (18_000, 800, 0), until_s=36_000)
    assert [(gap.from_s, gap.until_s) for gap in found.gaps] == [(0, 36_000)]


@pytest.mark.parametrize(
    ("from_s", "until_s", "cut"),
    [
        (50, 300, [(50, 800), (100, 500), (200, 700)]),
        (100, 200, [(100, 500)]),  # what begins with the end holds for none of it
        (199, 201, [(199, 500), (200, 700)]),
        (250, 300, [(250, 700)]),
        (-10, 100, [(-10, 800)]),  # before the first: by the first
    ],
)
def test_what_was_held_is_cut_to_a_stretch(from_s, until_s, cut):
    held = [Held(0, 800, 0, ""), Held(100, 500, 0, ""), Held(200, 700, 0, "")]
    assert [(each.from_s, each.limit) for each in held_between(held, from_s, until_s)] == cut


logs = st.lists(st.tuples(st.integers(1, 9000), st.integers(100, 1200)), min_size=1, max_size=40)
changes = st.lists(
    st.tuples(
        st.integers(1, 40_000),
        st.sampled_from([None, 300, 500, 800]),
        st.sampled_from([0, 100]),
    ),
    max_size=4,
    unique_by=lambda change: change[0],
)


@given(logs, changes)
def test_time_above_is_each_step_weighed_by_the_limits_it_crosses(steps, later):
    """Counted second by second's worth of step, without the rules: either end above is above."""
    readings, at = {}, 0
    for step, degc in steps:
        readings[at] = degc
        at += step
    end = max(readings)
    held_in_turn = [(0, 500, 0), *sorted(change for change in later if change[0] < end)]
    found = over(readings, *held_in_turn, until_s=end)
    expected = 0
    times = list(readings)
    ends = [*(each[0] for each in held_in_turn[1:]), end]
    for k in range(len(times) - 1):
        warmer = max(readings[times[k]], readings[times[k + 1]])
        for (begins, limit, off), until in zip(held_in_turn, ends, strict=True):
            shared = min(times[k + 1], until) - max(times[k], begins)
            if limit is not None and warmer + off > limit:
                expected += max(0, shared)
    assert found.above_s == expected
    assert all(gap.seconds > 0 for gap in found.gaps)
    assert timedelta(seconds=found.above_s) <= timedelta(seconds=end)
