"""When a place left its limit, how far and how long: both sides of every edge."""

import doctest
import random
from itertools import pairwise

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

import kegsafe.rules.cold.excursions as module
from kegsafe.rules.cold.excursions import excursions, hours_charged_above_the_clock
from kegsafe.science.growth import T_MIN_DEGC, Reading, exposure

HOUR = 3600
AGREEMENT = 1e-9


def hourly(*degrees, start=0):
    """Readings an hour apart, in degC."""
    times = [start + hour * HOUR for hour in range(len(degrees))]
    return times, [round(each * 100) for each in degrees]


def found(log, limit=5.0, longest_gap=2 * HOUR, **how):
    return excursions(*log, round(limit * 100), longest_gap=longest_gap, **how)


def test_the_example_in_the_docstring_is_true():
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


def test_a_log_at_the_limit_has_no_excursion():
    record = found(hourly(4, 5, 5, 4))
    assert (record.excursions, record.above_s, record.unknown_s) == ((), 0, 0)


def test_a_hundredth_above_the_limit_counts_both_steps_around_it():
    (only,) = found(hourly(4, 5.01, 4)).excursions
    assert (only.from_s, only.until_s, only.above_s) == (0, 2 * HOUR, 2 * HOUR)
    assert str(only.warmest_degc) == "5.01"


def test_two_stays_above_with_one_good_reading_between_are_two():
    record = found(hourly(4, 6, 4, 6, 4))
    assert [each.from_s for each in record.excursions] == [0, 2 * HOUR]
    assert record.above_s == 4 * HOUR


def test_a_log_that_ends_above_is_open():
    record = found(hourly(4, 4, 6))
    assert record.open_excursion is record.excursions[0]
    assert record.open_excursion.above_s == HOUR


def test_a_log_that_begins_above_says_so():
    (only,) = found(hourly(6, 4)).excursions
    assert only.begins_above
    assert not only.is_open


def test_a_single_reading_above_is_an_excursion_of_no_known_length():
    (only,) = found(([0], [900])).excursions
    assert (only.above_s, only.begins_above, only.is_open) == (0, True, True)


def test_an_empty_log_over_a_stretch_is_all_unknown():
    record = found(([], []), start=0, end=HOUR)
    assert record.unknown_s == HOUR


def test_an_empty_log_without_a_stretch_shows_nothing():
    record = found(([], []))
    assert (record.from_s, record.excursions, record.gaps) == (None, (), ())


@pytest.mark.parametrize(("step_s", "unknown_s"), [(7200, 0), (7201, 7201)])
def test_a_step_longer_than_allowed_between_good_readings_is_not_known(step_s, unknown_s):
    assert found(([0, step_s], [400, 400])).unknown_s == unknown_s


def test_a_gap_beside_a_warm_reading_counts_as_above_and_is_still_a_gap():
    record = found(([0, 5 * HOUR], [400, 900]))
    assert record.above_s == 5 * HOUR
    assert record.unknown_s == 0
    assert record.gaps[0].counts_as_above
    assert record.excursions[0].unread_s == 5 * HOUR


@pytest.mark.parametrize(("past", "kept"), [(2 * HOUR - 1, 1), (2 * HOUR, 0)])
def test_an_excursion_that_reaches_past_a_second_is_kept_whole(past, kept):
    record = found(hourly(4, 6, 4, 4)).reaching_past(past)
    assert [(each.from_s, each.until_s) for each in record.excursions] == [(0, 2 * HOUR)][:kept]


@pytest.mark.parametrize(("past", "begins"), [(HOUR, [HOUR]), (5 * HOUR, [])])
def test_a_gap_that_reaches_past_a_second_begins_there(past, begins):
    record = found(([0, 5 * HOUR], [400, 400])).reaching_past(past)
    assert [gap.from_s for gap in record.gaps] == begins


def test_no_line_is_drawn_through_a_gap():
    (only,) = found(([0, 5 * HOUR], [400, 900])).excursions
    assert (only.line_s, only.area_degc_h) == (0.0, 0.0)
    assert only.unverified_h == 5.0


def test_the_accuracy_of_the_thermometer_is_added_to_the_reading():
    log = hourly(4.5, 4.5)
    assert found(log, accuracy=50).above_s == 0
    assert found(log, accuracy=51).above_s == HOUR


def test_a_cut_through_a_step_beside_a_warm_reading_counts_its_part():
    log = hourly(4, 9, 4)
    assert found(log, start=1800, end=2 * HOUR).above_s == 5400
    assert found(log, start=0, end=5400).above_s == 5400
    assert found(log, start=600, end=1200).above_s == 600


def test_a_cut_through_a_gap_leaves_it_a_gap():
    record = found(([0, 5 * HOUR], [400, 400]), start=HOUR, end=2 * HOUR)
    assert record.unknown_s == HOUR


def test_time_before_the_first_reading_is_judged_by_it():
    assert found(hourly(9, 4, start=HOUR), start=0).above_s == 2 * HOUR
    assert found(hourly(4, 4, start=3 * HOUR), start=0).unknown_s == 3 * HOUR
    assert found(hourly(4, 4, start=2 * HOUR), start=0).unknown_s == 0


def test_time_after_the_last_reading_is_judged_by_it():
    assert found(hourly(4, 9), end=2 * HOUR).above_s == 2 * HOUR
    assert found(hourly(4, 4), end=4 * HOUR).unknown_s == 3 * HOUR
    assert found(hourly(4, 4), end=3 * HOUR).unknown_s == 0


def test_a_log_wholly_before_or_after_the_stretch_still_marks_the_gap():
    assert found(([0], [400]), start=5 * HOUR, end=6 * HOUR).unknown_s == HOUR
    assert found(([9 * HOUR], [400]), start=5 * HOUR, end=6 * HOUR).unknown_s == HOUR


def test_a_stretch_of_no_time_shows_nothing():
    assert found(hourly(9, 9), start=HOUR, end=HOUR).above_s == 0


@pytest.mark.parametrize(
    ("log", "how", "message"),
    [
        (([0, 1], [400]), {}, "2 times and 1 temperatures"),
        (([1, 1], [400, 400]), {}, "in order"),
        (([2, 1], [400, 400]), {}, "in order"),
        (([0], [400]), {"longest_gap": 0}, "longest_gap"),
        (([0], [400]), {"accuracy": -1}, "accuracy"),
        (([0], [400]), {"start": 5, "end": 4}, "before it starts"),
        (([0], [9990]), {}, "temperature"),
    ],
)
def test_a_log_that_makes_no_sense_is_refused_by_name(log, how, message):
    with pytest.raises(ValueError, match=message):
        found(log, **how)


# Against numpy, an independent numeric library, on random logs with uneven steps.

logs = st.lists(
    st.tuples(st.integers(1, HOUR), st.integers(-500, 3000)), min_size=2, max_size=200
).map(
    lambda steps: (
        numpy.cumsum([step for step, _ in steps]).tolist(),
        [degrees for _, degrees in steps],
    )
)


def area_by_numpy(times, degrees, limit):
    """Area above a limit: the corners at the limit put in by hand, then numpy's trapezoid."""
    t, height = numpy.array(times, float), numpy.array(degrees, float) - limit
    crosses = numpy.flatnonzero(height[:-1] * height[1:] < 0)
    share = height[crosses] / (height[crosses] - height[crosses + 1])
    corners = t[crosses] + share * (t[crosses + 1] - t[crosses])
    at = numpy.concatenate([t, corners])
    order = numpy.argsort(at, kind="stable")
    above = numpy.concatenate([numpy.maximum(height, 0), numpy.zeros(len(corners))])
    return numpy.trapezoid(above[order], at[order]) / 100 / HOUR


@given(logs, st.integers(0, 1500))
def test_the_area_above_a_limit_is_numpys(log, limit):
    record = excursions(*log, limit, longest_gap=HOUR)
    total = sum(each.area_degc_h for each in record.excursions)
    assert total == pytest.approx(area_by_numpy(*log, limit), rel=AGREEMENT, abs=1e-12)


@given(logs, st.integers(0, 1500))
def test_step_counting_is_numpys(log, limit):
    times, degrees = numpy.array(log[0]), numpy.array(log[1])
    counted = (degrees[1:] > limit) | (degrees[:-1] > limit)
    record = excursions(*log, limit, longest_gap=HOUR)
    assert record.above_s == numpy.diff(times)[counted].sum()


@given(logs)
def test_equivalent_hours_are_numpys_trapezoid_of_the_published_relation(log):
    """Ratkowsky et al. 1982: ((T - Tmin)/(5 - Tmin))^2, never past 35 degC, 0 below Tmin."""
    record = excursions(*log, -6000, longest_gap=HOUR)
    (whole,) = record.excursions
    degc = numpy.clip(numpy.array(log[1]) / 100, T_MIN_DEGC, 35.0)
    rate = ((degc - T_MIN_DEGC) / (5.0 - T_MIN_DEGC)) ** 2
    expected = numpy.trapezoid(rate, numpy.array(log[0]) / HOUR)
    assert whole.equivalent_h == pytest.approx(expected, rel=AGREEMENT)


@given(logs)
def test_hours_charged_above_the_clock_are_numpys(log):
    degc = numpy.clip(numpy.array(log[1]) / 100, T_MIN_DEGC, 35.0)
    rate = numpy.maximum(((degc - T_MIN_DEGC) / (5.0 - T_MIN_DEGC)) ** 2 - 1.0, 0.0)
    expected = numpy.trapezoid(rate, numpy.array(log[0]) / HOUR)
    charged = hours_charged_above_the_clock(*log, longest_gap=HOUR)
    assert charged == pytest.approx(expected, rel=AGREEMENT, abs=1e-12)


uneven = st.lists(
    st.tuples(st.integers(1, 6 * HOUR), st.integers(-500, 3000)), min_size=2, max_size=60
).map(
    lambda steps: (
        numpy.cumsum([step for step, _ in steps]).tolist(),
        [degrees for _, degrees in steps],
    )
)


@given(uneven)
def test_equivalent_hours_agree_with_the_growth_module_over_wide_steps_and_gaps(log):
    (whole,) = excursions(*log, -6000, longest_gap=HOUR).excursions
    readings = [Reading(at / HOUR, degrees / 100) for at, degrees in zip(*log, strict=True)]
    cost = exposure(readings, log[0][0] / HOUR, log[0][-1] / HOUR)
    assert whole.equivalent_h == pytest.approx(cost.known_equivalent_h, rel=1e-7, abs=1e-9)
    assert whole.unverified_h == pytest.approx(cost.unverified_h, rel=1e-7, abs=1e-9)


@given(uneven, st.integers(0, 1500), st.integers(1, 6 * HOUR))
def test_a_straight_line_never_shows_more_than_is_counted(log, limit, longest_gap):
    for each in excursions(*log, limit, longest_gap=longest_gap).excursions:
        assert each.from_s <= each.line_from_s <= each.line_until_s <= each.until_s
        assert each.line_s <= each.above_s + 1e-6


@given(uneven, st.integers(0, 1500), st.data())
def test_two_halves_of_a_log_count_no_less_than_the_whole(log, limit, data):
    start, end = log[0][0], log[0][-1]
    middle = data.draw(st.integers(start, end))
    whole = excursions(*log, limit, longest_gap=HOUR).above_s
    halves = [
        excursions(*log, limit, longest_gap=HOUR, start=a, end=b).above_s
        for a, b in ((start, middle), (middle, end))
    ]
    assert sum(halves) == whole


def test_a_fortnight_of_minutes_loses_nothing_to_rounding():
    rng = random.Random(7)
    times = [1_780_000_000 + 60 * minute for minute in range(20_000)]
    degrees = [rng.randint(501, 900) for _ in times]
    (only,) = excursions(times, degrees, 500, longest_gap=180).excursions
    twice = sum(60 * (a + b - 1000) for a, b in pairwise(degrees))
    assert only.area_degc_h == pytest.approx(twice / 2 / 100 / HOUR, rel=1e-14)
