"""Syrups: what must hold between the rows of any table."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.ranges import OutsideRange
from kegsafe.science.sugar import (
    brix_by_mass,
    brix_from_sugar_g_per_l,
    density_kg_m3,
    room_of_sugar_ml,
    solubility_brix,
    sugar_g_per_l,
    volume_l,
    water_density_kg_m3,
)

brix = st.floats(0.0, 85.0)


@given(st.floats(0.0, 84.0), st.floats(0.0, 80.0))
def test_a_sweeter_syrup_is_heavier(weaker, temperature_degc):
    assert density_kg_m3(weaker + 1.0, temperature_degc) > density_kg_m3(weaker, temperature_degc)


@given(brix)
def test_brix_comes_back_from_the_sugar_of_a_litre(strength):
    assert brix_from_sugar_g_per_l(sugar_g_per_l(strength)) == pytest.approx(strength, abs=1e-9)


@given(st.floats(0.1, 5000.0), st.floats(0.1, 5000.0))
def test_sugar_and_its_water_fill_what_the_syrup_fills(sugar_g, water_g):
    if sugar_g / (sugar_g + water_g) > 0.85:
        return
    apart = room_of_sugar_ml(sugar_g, water_g) + 1000.0 * water_g / water_density_kg_m3(20.0)
    whole = 1000.0 * volume_l((sugar_g + water_g) / 1000.0, brix_by_mass(sugar_g, water_g))
    assert apart == pytest.approx(whole)


def test_no_sugar_takes_no_room():
    assert room_of_sugar_ml(0.0, 0.0) == 0.0


def test_two_to_one_by_weight():
    """Worked by hand: 2 kg of sugar and 1 kg of water are 66.7 Brix and fill 2.26 litres."""
    assert brix_by_mass(2.0, 1.0) == pytest.approx(66.67, abs=0.01)
    assert volume_l(3.0, brix_by_mass(2.0, 1.0)) == pytest.approx(2.261, abs=0.002)


@given(st.floats(0.0, 49.0))
def test_warmer_water_holds_more_sugar(temperature_degc):
    assert solubility_brix(temperature_degc + 1.0) > solubility_brix(temperature_degc)


def test_a_two_to_one_syrup_crystallises_in_the_cold_room_but_not_at_20_degc():
    assert solubility_brix(4.0) < brix_by_mass(2.0, 1.0) < solubility_brix(20.0)


@pytest.mark.parametrize("temperature_degc", [-0.1, 50.1, math.nan])
def test_outside_the_solubility_table_there_is_no_number(temperature_degc):
    with pytest.raises(OutsideRange, match="temperature"):
        solubility_brix(temperature_degc)


@pytest.mark.parametrize("temperature_degc", [0.0, 50.0])
def test_both_ends_of_the_solubility_table_have_one(temperature_degc):
    assert 64.0 < solubility_brix(temperature_degc) < 72.5


@pytest.mark.parametrize(("strength", "temperature_degc"), [(-0.1, 20), (85.1, 20), (50, 80.1)])
def test_outside_the_density_formula_there_is_no_number(strength, temperature_degc):
    with pytest.raises(OutsideRange):
        density_kg_m3(strength, temperature_degc)


@pytest.mark.parametrize(("sugar_g", "water_g"), [(0, 0), (-1, 10), (10, -1), (86, 14)])
def test_weights_that_make_no_syrup_are_refused(sugar_g, water_g):
    with pytest.raises(OutsideRange):
        brix_by_mass(sugar_g, water_g)


def test_more_sugar_than_a_litre_holds_is_refused():
    with pytest.raises(OutsideRange, match="sugar"):
        brix_from_sugar_g_per_l(1300.0)
