"""Volume, speed and turbulence of a cleaning circuit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.line_hydraulics import (
    Regime,
    flow_for_reynolds_l_min,
    flow_for_velocity_l_min,
    line_volume_ml,
    regime,
    reynolds_number,
    turnover_s,
    velocity_m_s,
    water_kinematic_viscosity_m2_s,
)
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.tables import rows

bores = st.floats(3.0, 20.0)
US_GAL_L = 3.78541


@pytest.mark.parametrize(
    ("bore_mm", "gal_min", "speed", "cold", "warm"),
    [
        (4.7625, 0.5, 1.77, 8_400, 12_800),
        (6.35, 1.0, 1.99, 12_600, 19_200),
        (7.9375, 1.0, 1.28, 10_100, 15_400),
        (9.525, 2.0, 1.77, 16_800, 25_600),
        (12.7, 0.5, 0.25, 3_200, 4_800),
    ],
)
def test_flows_worked_by_hand(bore_mm, gal_min, speed, cold, warm):
    """Speed in m/s and Re at 20 and 40 degC, with nu 1.0035 and 0.6581 mm2/s. [computed]"""
    flow = gal_min * US_GAL_L
    assert velocity_m_s(flow, bore_mm) == pytest.approx(speed, abs=0.006)
    assert reynolds_number(flow, bore_mm, 20.0) == pytest.approx(cold, abs=60)
    assert reynolds_number(flow, bore_mm, 40.0) == pytest.approx(warm, abs=60)


@given(bores, st.floats(0.01, 20.0))
def test_the_speed_comes_back_from_the_flow_that_gives_it(bore_mm, speed_m_s):
    flow = flow_for_velocity_l_min(speed_m_s, bore_mm)
    if flow <= 100.0:
        assert velocity_m_s(flow, bore_mm) == pytest.approx(speed_m_s)


@given(bores, st.floats(100.0, 50_000.0), st.floats(0.0, 80.0))
def test_the_reynolds_number_comes_back_from_the_flow_that_gives_it(bore_mm, number, degc):
    flow = flow_for_reynolds_l_min(number, bore_mm, degc)
    assert reynolds_number(flow, bore_mm, degc) == pytest.approx(number)


@given(st.floats(0.0, 79.0))
def test_warmer_water_runs_more_easily(temperature_degc):
    warmer = water_kinematic_viscosity_m2_s(temperature_degc + 1.0)
    assert warmer < water_kinematic_viscosity_m2_s(temperature_degc)


def test_the_two_viscosity_formulas_meet_at_20_degc():
    step = water_kinematic_viscosity_m2_s(20.0) / water_kinematic_viscosity_m2_s(20.0001)
    assert step == pytest.approx(1.0, abs=2e-4)


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        (0, "laminar"),
        (2299.9, "laminar"),
        (2300, "unsure"),
        (4000, "unsure"),
        (4000.1, "turbulent"),
    ],
)
def test_between_laminar_and_turbulent_nobody_is_sure(number, expected):
    assert regime(number) is Regime(expected)


@pytest.mark.parametrize("row", rows("science/line_bores"), ids=lambda row: row["bore_mm"])
def test_a_metre_of_each_bore_on_file_holds_its_geometric_volume(row):
    computed = line_volume_ml(1.0, float(row["bore_mm"]))
    assert computed == pytest.approx(float(row["geometric_ml_per_m"]), abs=0.001)


def test_tap_and_coupler_count_in_the_circuit():
    assert line_volume_ml(7.62, 6.35, 30.0) == pytest.approx(271.3, abs=0.1)


def test_a_quarter_inch_line_turns_over_235_times_in_a_quarter_of_an_hour():
    """25 ft at 1 gal/min, worked by hand."""
    once_s = turnover_s(line_volume_ml(7.62, 6.35), US_GAL_L)
    assert 900.0 / once_s == pytest.approx(235, abs=1)


@pytest.mark.parametrize("bore_mm", [2.9, 20.1])
def test_a_bore_no_beverage_line_has_is_refused(bore_mm):
    with pytest.raises(OutsideRange, match="bore"):
        line_volume_ml(3.0, bore_mm)


def test_a_standing_line_never_turns_over():
    with pytest.raises(OutsideRange, match="flow"):
        turnover_s(240.0, 0.0)
