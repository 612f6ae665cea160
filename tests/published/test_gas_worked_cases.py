"""Worked cases of gas and pressure, reckoned apart from this program.

Made with CoolProp 8.0.0 (Span and Wagner 1996) and the solubility of Weiss (1974), or by
hand where a sum is enough. ADR P200 prints the two filling ratios of case 14. [memory] The
psi of cases 1 and 2 is that of NIST SP 811 (2008), appendix B.8: 6894.757 Pa. [memory]

The cases that are verdicts stand with their rule: 4 to 10 in test_bar_litre.py, 11 to 13 in
test_cylinder_retest.py, 16 to 18 in test_gas_room.py, 24 in test_exposure_over_a_shift.py,
35 and 36 in tests/rules/pressure/test_leak.py, 41 and 42 in test_set_pressure.py, 44 in
tests/rules/pressure/test_due.py.
"""

import pytest

from kegsafe.quantities import Kind, UnreadableQuantity, in_unit, read
from kegsafe.science.atmosphere import absolute_from_gauge_bar
from kegsafe.science.carbonation import carbonation, dissolved_mol_per_l
from kegsafe.science.co2_properties import (
    saturated_liquid_kg_m3,
    saturated_vapour_kg_m3,
    saturation_pressure_bar_abs,
)
from kegsafe.science.cylinders import (
    CylinderPhase,
    cylinder_content,
    cylinder_state,
    filling_ratio,
    gas_for_keg,
)
from kegsafe.science.gas_release import (
    decayed_ppm,
    hours_to_decay,
    leak_ppm,
    least_room_m3,
    steady_leak_ppm,
    ventilation_for_leak_m3_per_h,
)
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.sugar import water_density_kg_m3
from kegsafe.science.warm_up import LiquidFull, SealedKeg, warm_up
from kegsafe.science.water_vapour import saturation_pressure_bar_abs as vapour_bar_abs

# Cases 29 to 31: 19 L, 18 L of drink, settled at 2 degC and 3.4 bar gauge.
REFERENCE_KEG = SealedKeg(19.0, 18.0, 2.0, 3.4)


def test_fifty_psi_in_bar():
    """Case 1."""
    gauge = in_unit(read("50 psi", Kind.GAUGE_PRESSURE), "bar gauge")
    assert float(gauge) == pytest.approx(3.447, abs=0.001)


def test_a_plate_of_130_psi_is_nearly_ten_bar_absolute():
    """Case 2."""
    gauge = float(in_unit(read("130 psi", Kind.GAUGE_PRESSURE), "bar gauge"))
    assert absolute_from_gauge_bar(gauge) == pytest.approx(9.976, abs=0.002)


@pytest.mark.parametrize("kind", [Kind.GAUGE_PRESSURE, Kind.ABSOLUTE_PRESSURE])
def test_a_bare_number_is_no_pressure(kind):
    """Case 3."""
    with pytest.raises(UnreadableQuantity, match=r'"3\.4" has no unit'):
        read("3.4", kind)


@pytest.mark.parametrize(("charge_kg", "ratio"), [(6.80, 0.68), (7.60, 0.76)])
def test_ten_litres_of_water_capacity_hold_this_charge(charge_kg, ratio):
    """Case 14."""
    assert filling_ratio(charge_kg, 10.0) == pytest.approx(ratio, abs=0.001)


def test_twenty_pounds_need_thirteen_litres_of_water_capacity():
    """Case 15: 68 % of the mass of water that 13.37 L hold at 20 degC, 29.41 lb.

    A ratio in kg per litre, as the European tables print it, is a little less of the same.
    """
    charge_kg = 20 * 0.45359237
    water_kg = 13.37 * water_density_kg_m3(20.0) / 1000
    assert charge_kg / water_kg == pytest.approx(0.68, abs=0.001)
    assert filling_ratio(charge_kg, 13.37) < 0.68


def test_a_room_for_nine_kilograms_below_one_and_a_half_per_cent():
    """Case 19, the air of the room taken as free of CO2."""
    assert least_room_m3(9.07, 15_000.0, background_ppm=0.0) == pytest.approx(331, abs=1)


def test_five_per_cent_clear_at_six_air_changes():
    """Cases 20 and 21."""
    assert 60 * hours_to_decay(50_000.0, 5_000.0, 6.0) == pytest.approx(23.8, abs=0.1)
    assert decayed_ppm(50_000.0, 6.0, 0.5) == pytest.approx(2869, abs=5)


def test_the_air_that_keeps_a_leak_of_a_hundred_grams_an_hour_below_the_limit():
    """Case 23."""
    assert ventilation_for_leak_m3_per_h(100.0, 5_000.0) == pytest.approx(11.9, abs=0.1)


def test_a_leak_of_half_a_kilogram_an_hour_in_a_small_cellar():
    """Case 22."""
    assert leak_ppm(500.0, 40.0, 0.5, 4.0) == pytest.approx(12_101, abs=20)
    assert steady_leak_ppm(500.0, 40.0, 0.5) == pytest.approx(13_875, abs=20)


def test_a_weighed_cylinder_serves_fourteen_kegs():
    """Case 25."""
    content = cylinder_content(14.2, 9.1, 309.0)
    assert (round(content.co2_kg, 3), content.kegs_left) == (5.1, 14)


def test_the_gas_of_one_keg():
    """Case 26."""
    keg = gas_for_keg(
        keg_volume_l=19.0, drink_l=18.0, temperature_degc=2.0, added_volumes=4.0, push_gauge_bar=1.5
    )
    assert keg.dissolved_g == pytest.approx(142.3, abs=1)
    assert keg.push_g == pytest.approx(93.1, abs=1)


@pytest.mark.parametrize(
    ("degc", "volumes", "g_per_l"),
    [
        pytest.param(2.0, 6.79, 13.42, id="case 27"),
        pytest.param(10.0, 5.09, 10.05, id="case 28"),
    ],
)
def test_water_that_settled_at_fifty_psi(degc, volumes, g_per_l):
    settled = carbonation(degc, 3.447)
    assert settled.volumes == pytest.approx(volumes, rel=0.01)
    assert settled.g_per_l == pytest.approx(g_per_l, rel=0.01)


def test_moles_in_water_that_settled_at_fifty_psi():
    """Case 27: 0.3049 mol/L. Absolute, less the vapour of the water."""
    co2 = absolute_from_gauge_bar(3.447) - vapour_bar_abs(2.0)
    assert dissolved_mol_per_l(2.0, co2) == pytest.approx(0.3049, rel=0.01)


@pytest.mark.parametrize(("degc", "bar"), [(25.0, 8.22), (35.0, 10.79), (45.0, 13.53)])
def test_the_reference_keg_left_to_warm(degc, bar):
    """Case 29."""
    assert REFERENCE_KEG.gauge_bar_at(degc) == pytest.approx(bar, rel=0.02)


def test_the_temperature_at_which_a_relief_of_seven_bar_lifts():
    """Case 30."""
    lifts = warm_up(REFERENCE_KEG, 25.0, relief_gauge_bar=7.0).relief_lifts_at
    assert lifts.is_reached
    assert lifts.temperature_degc == pytest.approx(19.9, abs=0.3)


def test_the_reference_keg_with_twice_the_head_space():
    """Case 31."""
    keg = SealedKeg(19.0, 17.0, 2.0, 3.4)
    assert keg.gauge_bar_at(25.0) == pytest.approx(7.88, rel=0.02)


def test_a_keg_without_a_gap_is_refused_any_figure():
    """Case 32: 18.9 L in 19.0 L, 2 to 45 degC."""
    with pytest.raises(LiquidFull, match="full of liquid"):
        SealedKeg(19.0, 18.9, 2.0, 3.4).gauge_bar_at(45.0)


@pytest.mark.parametrize(
    ("gauge_bar", "rated_bar", "warm_bar", "passes"),
    [
        pytest.param(1.58, 7.0, 5.86, False, id="case 33: 4 volumes"),
        pytest.param(2.91, 9.0, 9.46, True, id="case 34: 6 volumes"),
    ],
)
def test_a_keg_at_35_degrees_against_its_rating(gauge_bar, rated_bar, warm_bar, passes):
    warm = warm_up(SealedKeg(19.0, 18.0, 2.0, gauge_bar), 35.0, rated_gauge_bar=rated_bar)
    assert warm.gauge_bar == pytest.approx(warm_bar, rel=0.02)
    assert warm.passes_rating is passes


@pytest.mark.parametrize(
    ("ratio", "degc", "bar_abs"),
    [
        pytest.param(0.68, 65.0, 193.8, id="case 37"),
        pytest.param(0.75, 50.0, 175.4, id="case 38"),
    ],
)
def test_a_heated_cylinder(ratio, degc, bar_abs):
    assert cylinder_state(ratio, degc).pressure_bar_abs == pytest.approx(bar_abs, abs=0.5)


def test_saturation_at_twenty_degrees():
    """Case 39."""
    assert saturation_pressure_bar_abs(20.0) == pytest.approx(57.29, abs=0.05)
    assert saturated_liquid_kg_m3(20.0) == pytest.approx(773.4, abs=0.2)
    assert saturated_vapour_kg_m3(20.0) == pytest.approx(194.2, abs=0.2)


def test_above_the_critical_point_there_is_no_liquid():
    """Case 40."""
    with pytest.raises(OutsideRange):
        saturation_pressure_bar_abs(35.0)


def test_while_liquid_remains_the_gauge_says_nothing_of_the_content():
    """Case 43: a third of the charge and all of it show the same pressure."""
    full, third = cylinder_state(0.68, 20.0), cylinder_state(0.25, 20.0)
    assert {full.phase, third.phase} == {CylinderPhase.TWO_PHASE}
    assert full.pressure_bar_abs == pytest.approx(third.pressure_bar_abs, abs=0.01)
