"""Water activity may warn and never flatters."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.ranges import OutsideRange
from kegsafe.science.sugar import solubility_brix
from kegsafe.science.tables import rows
from kegsafe.science.water_activity import SALT, norrish, of_mixture, of_salt, of_sucrose

SOLUTES = [row["solute"] for row in rows("science/norrish_constants")]


@given(st.sampled_from(SOLUTES), st.floats(0.0, 69.0))
def test_more_of_any_solute_lowers_the_activity(solute, percent):
    assert norrish(solute, percent + 1.0) < norrish(solute, percent) <= 1.0


@given(st.floats(0.0, 70.0))
def test_an_unknown_syrup_taken_for_sucrose_is_never_flattered(percent):
    others = [norrish(name, percent) for name in SOLUTES]
    assert norrish("sucrose", percent) == max(others)


@given(st.floats(0.0, 70.0))
def test_sucrose_alone_is_the_same_by_the_mixing_rules(percent):
    mixed = of_mixture({"sucrose": percent}, 100.0 - percent)
    assert mixed.value == pytest.approx(of_sucrose(percent).value)


@given(st.floats(1.0, 30.0), st.floats(1.0, 30.0))
def test_of_two_mixing_rules_the_less_flattering_one_is_reported(glucose_g, fructose_g):
    water_g = 100.0
    product = norrish("glucose", 100 * glucose_g / (glucose_g + water_g)) * norrish(
        "fructose", 100 * fructose_g / (fructose_g + water_g)
    )
    mixed = of_mixture({"glucose": glucose_g, "fructose": fructose_g}, water_g)
    assert mixed.value >= product - 1e-12


@given(st.floats(0.0, 200.0))
def test_ethanol_earns_no_credit(ethanol_g):
    sweet = {"sucrose": 100.0}
    assert of_mixture(sweet, 800.0, ethanol_g).value >= of_mixture(sweet, 800.0).value


def test_water_and_ethanol_alone_count_as_water():
    assert of_mixture({}, 600.0, 300.0).value == 1.0


@given(st.floats(0.0, 5.9))
def test_more_salt_lowers_the_activity(salt_mol_per_kg):
    assert of_salt(salt_mol_per_kg + 0.1) < of_salt(salt_mol_per_kg)


def test_salt_lowers_a_sweet_drink_by_its_own_factor():
    sweet = of_mixture({"sucrose": 100.0}, 1000.0).value
    salted = of_mixture({"sucrose": 100.0, SALT: 58.44}, 1000.0).value
    assert salted == pytest.approx(sweet * 0.9668, abs=1e-4)


@pytest.mark.parametrize(
    ("brix", "band"), [(50.0, 0.003), (50.1, 0.005), (60.0, 0.005), (60.1, 0.01), (70.0, 0.01)]
)
def test_the_error_bar_widens_where_the_checks_grow_worse(brix, band):
    assert of_sucrose(brix).plus_or_minus == band


def test_a_cautious_reader_works_with_the_upper_end_and_never_above_one():
    assert of_sucrose(60.0).highest == pytest.approx(of_sucrose(60.0).value + 0.005)
    assert of_sucrose(0.0).highest == 1.0


def test_a_saturated_syrup_at_20_degc_does_not_clear_0_85_with_any_margin():
    assert of_sucrose(solubility_brix(20.0)).highest > 0.85


@pytest.mark.parametrize("brix", [-0.1, 70.1])
def test_outside_its_range_a_syrup_has_no_activity(brix):
    with pytest.raises(OutsideRange):
        of_sucrose(brix)


@pytest.mark.parametrize("salt_mol_per_kg", [-0.1, 6.1])
def test_outside_its_range_a_brine_has_no_activity(salt_mol_per_kg):
    with pytest.raises(OutsideRange, match="salt"):
        of_salt(salt_mol_per_kg)


@pytest.mark.parametrize(
    ("solutes_g", "water_g"), [({"sucrose": 71.0}, 29.0), ({"sucrose": -1.0}, 29.0), ({}, 0.0)]
)
def test_a_mixture_outside_reason_has_no_activity(solutes_g, water_g):
    with pytest.raises(OutsideRange):
        of_mixture(solutes_g, water_g)


def test_a_solute_without_a_constant_is_refused_by_name():
    with pytest.raises(LookupError, match="honey"):
        of_mixture({"honey": 10.0}, 90.0)
