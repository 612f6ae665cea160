"""Warm hours count for more, cold hours for no less, unread hours for nothing known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.growth import (
    T_MIN_MILK_DEGC,
    Exposure,
    Reading,
    exposure,
    relative_rate,
    remaining_h,
)
from kegsafe.science.ranges import OutsideRange

AFTERNOON = [Reading(float(hour), t) for hour, t in enumerate((4, 4, 8, 12, 9, 6, 5))]
temperatures = st.floats(-5.0, 25.0)


def hourly(*degc):
    return [Reading(float(hour), t) for hour, t in enumerate(degc)]


@pytest.mark.parametrize(
    ("degc", "listeria", "milk"),
    [
        (0, 0.036, 0.000),
        (2, 0.265, 0.101),
        (4, 0.703, 0.597),
        (5, 1.000, 1.000),
        (8, 2.207, 2.829),
        (10, 3.273, 4.564),
        (15, 6.855, 10.711),
        (25, 17.946, 30.752),
    ],
)
def test_rates_worked_by_hand(degc, listeria, milk):
    """((T - Tmin)/(5 - Tmin))^2 with Tmin -1.18 and 0.6 degC."""
    assert relative_rate(degc) == pytest.approx(listeria, abs=6e-4)
    assert relative_rate(degc, T_MIN_MILK_DEGC) == pytest.approx(milk, abs=6e-4)


def test_below_the_lowest_growth_temperature_nothing_grows():
    assert relative_rate(-1.18) == relative_rate(-20.0) == 0.0


def test_above_35_degc_the_rate_stands_still():
    assert relative_rate(35.1) == relative_rate(60.0) == relative_rate(35.0)


@given(st.floats(-1.0, 34.0))
def test_warmer_is_always_faster(degc):
    assert relative_rate(degc + 1.0) > relative_rate(degc)


def test_an_afternoon_with_an_open_door_worked_by_hand():
    """Trapezoid on the rate: 12.37 equivalent hours, 12.82 charged, in 6 h on the clock."""
    cost = exposure(AFTERNOON, 0.0, 6.0)
    assert cost.equivalent_h == pytest.approx(12.37, abs=0.005)
    assert cost.charged_h == pytest.approx(12.82, abs=0.005)
    assert cost.warmest_degc == 12


def test_the_mean_temperature_would_have_flattered_that_afternoon():
    mean_degc = 7.25  # trapezoid mean of the same readings
    assert exposure(AFTERNOON, 0.0, 6.0).equivalent_h > 6.0 * relative_rate(mean_degc)


def test_six_hours_at_15_degc_cost_41():
    cost = exposure(hourly(*[15.0] * 7), 0.0, 6.0)
    assert cost.charged_h == pytest.approx(41.1, abs=0.05)
    assert remaining_h(168.0, 100.0 + cost.charged_h) == pytest.approx(26.9, abs=0.05)


def test_cold_hours_are_charged_as_hours_and_earn_nothing():
    cost = exposure(hourly(*[2.0] * 25), 0.0, 24.0)
    assert cost.charged_h == pytest.approx(24.0)
    assert cost.equivalent_h < 24.0


@given(st.lists(temperatures, min_size=2, max_size=48))
def test_a_keg_is_never_charged_less_than_the_clock(degc):
    log = hourly(*degc)
    assert exposure(log, 0.0, len(degc) - 1.0).charged_h >= len(degc) - 1.0 - 1e-9


@given(st.lists(temperatures, min_size=2, max_size=24), st.integers(0, 23), st.floats(0.1, 5.0))
def test_a_warmer_reading_never_costs_less(degc, which, warmer):
    log = hourly(*degc)
    at = which % len(degc)
    raised = [*log[:at], Reading(float(at), degc[at] + warmer), *log[at + 1 :]]
    end_h = len(degc) - 1.0
    before = exposure(log, 0.0, end_h).equivalent_h
    assert exposure(raised, 0.0, end_h).equivalent_h >= before - 1e-9


@given(st.lists(temperatures, min_size=3, max_size=24), st.floats(0.05, 0.95))
def test_two_stretches_cost_at_least_what_the_whole_would_on_finer_readings(degc, share):
    log, end_h = hourly(*degc), len(degc) - 1.0
    cut_h = share * end_h
    halves = exposure(log, 0.0, cut_h).equivalent_h + exposure(log, cut_h, end_h).equivalent_h
    assert halves <= exposure(log, 0.0, end_h).equivalent_h + 1e-9


@given(st.permutations(AFTERNOON))
def test_the_order_of_the_lines_in_a_file_does_not_matter(shuffled):
    assert exposure(shuffled, 0.0, 6.0) == exposure(AFTERNOON, 0.0, 6.0)


def test_of_two_readings_at_one_moment_the_warmer_counts():
    doubled = [*AFTERNOON, Reading(3.0, 2.0)]
    assert exposure(doubled, 0.0, 6.0) == exposure(AFTERNOON, 0.0, 6.0)


def test_readings_an_hour_apart_are_joined_by_a_line():
    cost = exposure([Reading(0.0, 5.0), Reading(1.0, 10.0)], 0.0, 1.0)
    assert cost.equivalent_h == pytest.approx((1.0 + 3.273) / 2, abs=0.001)
    assert cost.worse_step_h == 0.0


def test_readings_farther_apart_are_charged_at_the_worse_one():
    cost = exposure([Reading(0.0, 5.0), Reading(1.01, 10.0)], 0.0, 1.01)
    assert cost.equivalent_h == pytest.approx(1.01 * 3.273, abs=0.001)
    assert cost.worse_step_h == pytest.approx(1.01)


def test_four_hours_unread_are_still_charged_at_the_worse_reading():
    cost = exposure([Reading(0.0, 4.0), Reading(4.0, 10.0)], 0.0, 4.0)
    assert cost.charged_h == pytest.approx(4 * 3.273, abs=0.002)


def test_past_four_hours_nobody_knows_and_there_is_no_number():
    cost = exposure([Reading(0.0, 4.0), Reading(4.01, 4.0)], 0.0, 4.01)
    assert cost.charged_h is None
    assert cost.equivalent_h is None
    assert cost.unverified_h == pytest.approx(4.01)


def test_hours_before_the_first_and_after_the_last_reading_are_unverified():
    cost = exposure(hourly(4, 4, 4), -2.0, 5.0)
    assert cost.unverified_h == pytest.approx(2.0 + 3.0)
    assert cost.charged_h is None
    assert cost.known_charged_h == pytest.approx(2.0)


@pytest.mark.parametrize(("start_h", "end_h"), [(10.0, 12.0), (-12.0, -10.0)])
def test_a_log_of_another_day_verifies_nothing(start_h, end_h):
    cost = exposure(AFTERNOON, start_h, end_h)
    assert (cost.unverified_h, cost.warmest_degc) == (2.0, None)


def test_no_log_is_never_good_news():
    cost = exposure([], 0.0, 24.0)
    assert cost == Exposure(0.0, 0.0, 0.0, 24.0, None)
    assert cost.charged_h is None


def test_no_time_costs_nothing():
    assert exposure([], 3.0, 3.0).charged_h == 0.0


def test_a_stretch_that_starts_between_readings_starts_at_the_line_between_them():
    cost = exposure([Reading(0.0, 4.0), Reading(1.0, 6.0)], 0.5, 1.0)
    assert cost.equivalent_h == pytest.approx(0.5 * (1.0 + 1.350) / 2, abs=0.001)


def test_a_reading_past_the_fitted_range_is_said_to_have_left_it():
    assert exposure(hourly(24, 25), 0.0, 1.0).left_the_range is False
    assert exposure(hourly(24, 25.1), 0.0, 1.0).left_the_range is True


@pytest.mark.parametrize("error_code", [-127.0, 85.0, 999.9, -200.0, math.nan, math.inf])
def test_the_error_code_of_a_probe_is_no_temperature(error_code):
    with pytest.raises(OutsideRange, match="temperature"):
        Reading(0.0, error_code)


def test_a_stretch_cannot_end_before_it_starts():
    with pytest.raises(OutsideRange, match="end"):
        exposure(AFTERNOON, 6.0, 0.0)


def test_what_is_used_up_does_not_go_below_nothing():
    assert remaining_h(168.0, 400.0) == 0.0
