"""A blend is weighed, not averaged: what must hold whatever the parts are."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.alcohol import (
    Blend,
    Part,
    abv_from_mass_fraction,
    blend,
    density_by_abv_kg_m3,
    density_kg_m3,
    ethanol_g,
    mass_fraction_from_abv,
    standard_drinks,
    syrup,
)
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.tables import rows

volumes = st.floats(1.0, 20_000.0)
strengths = st.floats(0.0, 100.0)
spirits = st.builds(Part, volumes, strengths)
syrups = st.builds(syrup, volumes, st.floats(0.0, 70.0))
liqueurs = st.builds(Part, volumes, st.floats(10.0, 45.0), st.floats(0.0, 400.0))
drinks = st.lists(st.one_of(spirits, syrups, liqueurs), min_size=1, max_size=6)


@given(strengths)
def test_strength_by_volume_comes_back_from_strength_by_mass(abv_percent):
    again = abv_from_mass_fraction(mass_fraction_from_abv(abv_percent))
    assert again == pytest.approx(abv_percent, abs=1e-9)


@given(st.floats(0.0, 0.999), st.floats(0.0005, 0.001))
def test_more_alcohol_by_mass_is_more_alcohol_by_volume(mass_fraction, more):
    assert abv_from_mass_fraction(mass_fraction + more) > abv_from_mass_fraction(mass_fraction)


@given(st.floats(0.2, 1.0), st.floats(-20.0, 39.0))
def test_a_warmer_spirit_is_lighter(mass_fraction, temperature_degc):
    warmer = density_kg_m3(mass_fraction, temperature_degc + 1.0)
    assert warmer < density_kg_m3(mass_fraction, temperature_degc)


@given(drinks, volumes)
def test_adding_water_never_raises_the_strength(parts, water_ml):
    before = blend(parts).abv_percent
    assert blend([*parts, Part(water_ml, 0.0)]).abv_percent <= before + 1e-9


@given(drinks, volumes)
def test_adding_water_never_makes_less_drink(parts, water_ml):
    assert blend([*parts, Part(water_ml, 0.0)]).volume_ml > blend(parts).volume_ml


@given(drinks)
def test_nothing_is_lost_or_made_by_blending(parts):
    together = blend(parts)
    apart = [blend([part]) for part in parts]
    assert together.mass_g == pytest.approx(math.fsum(one.mass_g for one in apart))
    assert together.ethanol_g == pytest.approx(
        math.fsum(ethanol_g(part.volume_ml, part.abv_percent) for part in parts)
    )
    assert together.sugar_g == pytest.approx(
        math.fsum(part.volume_ml * part.sugar_g_per_l / 1000.0 for part in parts)
    )


@given(drinks)
def test_the_strength_given_back_is_that_of_the_ethanol_in_the_volume(parts):
    together = blend(parts)
    assert ethanol_g(together.volume_ml, together.abv_percent) == pytest.approx(
        together.ethanol_g, abs=1e-9
    )


@given(st.one_of(spirits, syrups, liqueurs))
def test_one_part_alone_stays_what_it_was(part):
    alone = blend([part])
    assert alone.volume_ml == pytest.approx(part.volume_ml)
    assert alone.abv_percent == pytest.approx(part.abv_percent, abs=1e-7)
    assert alone.sugar_g_per_l == pytest.approx(part.sugar_g_per_l, abs=1e-7)
    assert alone.contraction_ml == pytest.approx(0.0, abs=1e-6 * part.volume_ml)


@given(st.lists(spirits, min_size=2, max_size=5))
def test_a_blend_of_spirits_lies_between_the_weakest_and_the_strongest(parts):
    together = blend(parts).abv_percent
    assert min(part.abv_percent for part in parts) - 1e-9 <= together
    assert together <= max(part.abv_percent for part in parts) + 1e-9


@given(drinks, st.randoms())
def test_the_order_of_pouring_does_not_matter(parts, random):
    shuffled = random.sample(parts, len(parts))
    assert blend(shuffled).abv_percent == pytest.approx(blend(parts).abv_percent, abs=1e-9)


@given(drinks, drinks)
def test_a_preparation_used_in_a_drink_counts_as_its_own_parts_would(first, second):
    prepared = blend(first)
    in_steps = blend([prepared.poured(prepared.volume_ml), *second])
    at_once = blend([*first, *second])
    assert in_steps.volume_ml == pytest.approx(at_once.volume_ml)
    assert in_steps.abv_percent == pytest.approx(at_once.abv_percent, abs=1e-6)


def test_strong_alcohol_and_water_shrink():
    half = blend([Part(500.0, 96.0), Part(500.0, 0.0)])
    assert half.contraction_ml == pytest.approx(30.4, abs=0.1)
    assert half.abv_percent > 48.0


def test_a_bar_spirit_let_down_to_a_drink_grows_a_little():
    assert blend([Part(3000.0, 40.0), Part(10_000.0, 0.0)]).contraction_ml < 0.0


def test_a_part_of_no_volume_adds_nothing():
    with_nothing = blend([Part(700.0, 40.0), Part(0.0, 96.0)])
    assert with_nothing == blend([Part(700.0, 40.0)])


@pytest.mark.parametrize("parts", [[], [Part(0.0, 40.0)]])
def test_a_blend_of_nothing_has_no_strength(parts):
    with pytest.raises(OutsideRange, match="volume of the blend"):
        blend(parts)


@pytest.mark.parametrize(
    ("volume_ml", "abv_percent", "sugar_g_per_l", "named"),
    [
        (-1.0, 40.0, 0.0, "volume"),
        (math.nan, 40.0, 0.0, "volume"),
        (700.0, -0.1, 0.0, "strength"),
        (700.0, 100.1, 0.0, "strength"),
        (700.0, math.inf, 0.0, "strength"),
        (700.0, 0.0, -1.0, "sugar"),
        (700.0, 0.0, 1300.0, "sugar"),
    ],
)
def test_a_part_no_bottle_can_hold_is_refused_by_name(volume_ml, abv_percent, sugar_g_per_l, named):
    with pytest.raises(OutsideRange, match=named):
        Part(volume_ml, abv_percent, sugar_g_per_l)


def test_a_bottle_cannot_hold_more_sugar_and_alcohol_than_fit_into_it():
    with pytest.raises(OutsideRange, match="sugar beside so much alcohol"):
        blend([Part(700.0, 90.0, 900.0)])


@pytest.mark.parametrize("brix", [-0.1, 85.1])
def test_a_syrup_outside_the_sugar_tables_is_refused(brix):
    with pytest.raises(OutsideRange, match="strength of syrup"):
        syrup(500.0, brix)


@pytest.mark.parametrize("temperature_degc", [-20.1, 40.1, math.nan])
def test_outside_the_directives_temperatures_there_is_no_density(temperature_degc):
    with pytest.raises(OutsideRange, match="temperature"):
        density_by_abv_kg_m3(40.0, temperature_degc)


@pytest.mark.parametrize("temperature_degc", [-20.0, 40.0])
def test_the_directives_end_temperatures_have_a_density(temperature_degc):
    assert 900.0 < density_by_abv_kg_m3(40.0, temperature_degc) < 1000.0


@pytest.mark.parametrize("mass_fraction", [-0.001, 1.001])
def test_a_mass_fraction_lies_between_nothing_and_all(mass_fraction):
    with pytest.raises(OutsideRange, match="mass fraction"):
        density_kg_m3(mass_fraction)


@pytest.mark.parametrize(("place", "count"), [("UK", 1.80), ("US", 1.01), ("Australia", 1.42)])
def test_a_large_glass_of_wine_in_three_countries(place, count):
    """150 ml at 12 % vol, worked by hand: 18 ml, 14.2 g."""
    assert standard_drinks(150.0, 12.0, place) == pytest.approx(count, abs=0.006)


def test_a_place_without_a_row_has_no_standard_drink():
    with pytest.raises(LookupError, match="Atlantis"):
        standard_drinks(150.0, 12.0, "Atlantis")


@pytest.mark.parametrize("row", rows("science/standard_drinks"), ids=lambda row: row["place"])
def test_a_standard_drink_is_fixed_by_mass_or_by_volume_not_by_both(row):
    assert bool(row["ethanol_g"]) != bool(row["ethanol_ml"])


def test_a_blend_says_its_density_and_its_sugar_by_the_litre():
    thin = Blend(1000.0, 0.0, 0.0, 0.0, 100.0, 935.0, 0.0)
    assert thin.density_kg_m3 == pytest.approx(1035.0)
    assert thin.sugar_g_per_l == pytest.approx(100.0)
