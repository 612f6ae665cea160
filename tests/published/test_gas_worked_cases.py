"""Worked cases of gas and pressure, reckoned apart from this program.

Made with CoolProp 8.0.0 (Span and Wagner 1996) and the solubility of Weiss (1974), or by
hand where a sum is enough. ADR P200 prints the two filling ratios of case 14. [memory]
"""

import pytest

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
from kegsafe.science.gas_release import leak_ppm, steady_leak_ppm
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.warm_up import SealedKeg, warm_up


@pytest.mark.parametrize(("charge_kg", "ratio"), [(6.80, 0.68), (7.60, 0.76)])
def test_ten_litres_of_water_capacity_hold_this_charge(charge_kg, ratio):
    """Case 14."""
    assert filling_ratio(charge_kg, 10.0) == pytest.approx(ratio, abs=0.001)


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
