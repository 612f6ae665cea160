"""A CO2 cylinder: its state, its content, and what a keg takes from it.

Worked figures: computed for this project by a separate program. [computed]
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.co2_properties import saturation_pressure_bar_abs
from kegsafe.science.cylinders import (
    CylinderPhase,
    cylinder_content,
    cylinder_state,
    filling_ratio,
    fraction_left_when_liquid_ends,
    gas_for_keg,
    liquid_full_at_degc,
)
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.tables import rows

POUND = 0.45359237


@pytest.mark.parametrize(("ratio", "t", "bar"), [(0.68, 65.0, 193.8), (0.75, 50.0, 175.4)])
def test_a_hot_cylinder_stands_at_the_worked_pressure(ratio, t, bar):
    hot = cylinder_state(ratio, t)
    assert hot.pressure_bar_abs == pytest.approx(bar, abs=0.1)
    assert hot.phase is CylinderPhase.ABOVE_CRITICAL


def test_while_liquid_remains_the_gauge_shows_the_temperature_and_nothing_else():
    pressures = {cylinder_state(ratio, 20.0).pressure_bar_abs for ratio in (0.2, 0.5, 0.68, 0.76)}
    assert pressures == {saturation_pressure_bar_abs(20.0)}
    assert pressures.pop() == pytest.approx(57.29, abs=0.01)


def test_there_is_no_saturation_pressure_above_31_degrees():
    with pytest.raises(OutsideRange, match=r"CO2 temperature must lie from -20 to 30\.9782 degC"):
        saturation_pressure_bar_abs(35.0)


def test_a_nearly_empty_cylinder_holds_gas_only_and_less_pressure():
    low = cylinder_state(0.1, 20.0)
    assert low.phase is CylinderPhase.GAS_ONLY
    assert low.pressure_bar_abs < 57.29


@pytest.mark.parametrize(("t", "percent"), [(-20.0, 64.1), (-19.0, 64.4), (-18.0, 64.6)])
def test_liquid_takes_the_worked_share_of_a_full_cylinder(t, percent):
    assert 100 * cylinder_state(0.68, t).liquid_fraction == pytest.approx(percent, abs=0.06)


@pytest.mark.parametrize(
    "row",
    [
        row
        for row in rows("science/co2_saturation")
        if row["percent_left_when_last_liquid_goes_at_068"]
    ],
    ids=lambda row: row["temperature_degc"],
)
def test_the_last_liquid_goes_when_the_worked_part_is_left(row):
    left = fraction_left_when_liquid_ends(0.68, float(row["temperature_degc"]))
    worked = float(row["percent_left_when_last_liquid_goes_at_068"])
    assert 100 * left == pytest.approx(worked, abs=0.2)


def test_overcharging_a_cylinder_made_for_068_adds_54_bar_at_65_degrees():
    made_for, charged = cylinder_state(0.68, 65.0), cylinder_state(0.76, 65.0)
    assert charged.pressure_bar_abs - made_for.pressure_bar_abs == pytest.approx(54.5, abs=0.5)


@pytest.mark.parametrize(("kg", "litres", "ratio"), [(6.8, 10, 0.68), (7.6, 10, 0.76)])
def test_the_filling_ratio_is_charge_by_water_capacity(kg, litres, ratio):
    assert filling_ratio(kg, litres) == pytest.approx(ratio)


def test_twenty_pounds_at_68_per_cent_need_13_4_litres():
    assert filling_ratio(20 * POUND, 13.37) == pytest.approx(0.68, abs=0.002)


def test_a_weighed_cylinder_serves_the_worked_kegs():
    content = cylinder_content(14.2, 9.1, 309.0)
    assert content.co2_kg == pytest.approx(5.1)
    assert content.kegs_left == 14


def test_without_a_use_per_keg_there_are_no_kegs_to_count():
    assert cylinder_content(14.2, 9.1).kegs_left is None


def test_a_cylinder_at_its_tare_serves_nothing():
    assert cylinder_content(9.1, 9.1, 309.0).kegs_left == 0


def test_an_exact_number_of_kegs_is_not_lost_to_rounding():
    assert cylinder_content(12.0, 9.0, 270.0).kegs_left == 10


def test_a_cylinder_lighter_than_its_tare_is_refused():
    with pytest.raises(OutsideRange, match=r"gross weight must lie from 9\.1 to 109\.1 kg"):
        cylinder_content(9.0, 9.1)


@pytest.mark.parametrize(
    ("volumes", "gauge", "dissolved", "push"),
    [
        (0.0, 1.0, 0, 74),
        (2.5, 0.8, 89, 67),
        (4.0, 1.5, 142, 93),
        (4.0, 2.0, 142, 112),
        (5.0, 2.5, 178, 131),
        (6.79, 3.4, 242, 166),
    ],
)
def test_a_keg_takes_the_worked_gas(volumes, gauge, dissolved, push):
    keg = gas_for_keg(
        keg_volume_l=19.0,
        drink_l=18.0,
        temperature_degc=2.0,
        added_volumes=volumes,
        push_gauge_bar=gauge,
    )
    assert keg.dissolved_g == pytest.approx(dissolved, abs=0.6)
    assert keg.push_g == pytest.approx(push, rel=0.008)
    assert keg.total_g == keg.dissolved_g + keg.push_g


ratios = st.floats(0.01, 0.85)
temperatures = st.floats(-20.0, 65.0)


@given(ratios, temperatures, temperatures)
def test_a_warmer_cylinder_is_never_at_less_pressure(ratio, one, other):
    cooler, warmer = sorted((one, other))
    below, above = cylinder_state(ratio, cooler), cylinder_state(ratio, warmer)
    assert above.pressure_bar_abs >= below.pressure_bar_abs * (1.0 - 1e-3)


@given(ratios, ratios, temperatures)
def test_a_fuller_cylinder_is_never_at_less_pressure(one, other, t):
    lower, fuller = sorted((one, other))
    below, above = cylinder_state(lower, t), cylinder_state(fuller, t)
    assert above.pressure_bar_abs >= below.pressure_bar_abs * (1.0 - 1e-3)


@given(st.floats(0.5, 0.85))
def test_above_the_liquid_full_temperature_the_cylinder_is_full(ratio):
    full_at = liquid_full_at_degc(ratio)
    assert cylinder_state(ratio, full_at - 0.01).phase is CylinderPhase.TWO_PHASE
    assert cylinder_state(ratio, min(full_at + 0.01, 65.0)).phase is not CylinderPhase.TWO_PHASE


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: cylinder_state(0.9, 20.0),
            "filling ratio must lie from 0.01 to 0.85 kg/L; it was 0.9 kg/L.",
        ),
        (
            lambda: cylinder_state(0.68, 80.0),
            "CO2 temperature must lie from -20 to 65 degC; it was 80 degC.",
        ),
        (
            lambda: liquid_full_at_degc(0.45),
            "filling ratio must lie from 0.5 to 0.85 kg/L; it was 0.45 kg/L.",
        ),
        (
            lambda: cylinder_content(14.2, 9.1, 0.0),
            "CO2 per keg must lie from 1 to 5000 g; it was 0 g.",
        ),
    ],
)
def test_outside_the_range_there_is_a_sentence_and_no_number(call, sentence):
    with pytest.raises(OutsideRange) as refused:
        call()
    assert str(refused.value) == sentence
