"""Doses worked by hand, and what must hold for any concentrate."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.dilution import (
    available_chlorine_percent,
    dose,
    mg_per_l_from_percent_wv,
    mg_per_l_from_percent_ww,
    parts_of_water,
    powder_g,
    strength_mg_per_l,
)
from kegsafe.science.ranges import OutsideRange

stocks = st.floats(1_000.0, 1_000_000.0)
shares = st.floats(0.0001, 1.0)
US_GAL_ML = 3785.41


@pytest.mark.parametrize(
    ("stock_mg_per_l", "target_mg_per_l", "total_ml", "millilitres"),
    [
        (mg_per_l_from_percent_wv(8.25), 200, US_GAL_ML, 9.18),
        (mg_per_l_from_percent_ww(available_chlorine_percent(8.25), 1.11), 200, US_GAL_ML, 8.68),
        (mg_per_l_from_percent_ww(available_chlorine_percent(8.25), 1.11), 200, 19_000, 43.6),
        (mg_per_l_from_percent_ww(10, 1.1089), 20_000, 1000, 180.4),
        (mg_per_l_from_percent_wv(10), 20_000, 1000, 200.0),
        (mg_per_l_from_percent_ww(30, 1.3277), 20_000, 1000, 50.2),
        (mg_per_l_from_percent_ww(50, 1.5253), 20_000, 1000, 26.2),
        (mg_per_l_from_percent_ww(5, 1.12), 150, 19_000, 50.9),
        (mg_per_l_from_percent_ww(15, 1.15), 150, 1000, 0.870),
        (mg_per_l_from_percent_wv(10), 200, US_GAL_ML, 7.57),
    ],
    ids=[
        "bleach nominal",
        "bleach as chlorine",
        "bleach, keg",
        "caustic 10 w/w",
        "caustic 10 w/v",
        "caustic 30 w/w",
        "caustic 50 w/w",
        "peracetic 5, keg",
        "peracetic 15",
        "quat 10 w/v",
    ],
)
def test_doses_worked_by_hand(stock_mg_per_l, target_mg_per_l, total_ml, millilitres):
    """Densities at 20 degC from tables and data sheets. [part read, part memory]"""
    computed = dose(stock_mg_per_l, target_mg_per_l, total_ml).concentrate_ml
    assert computed == pytest.approx(millilitres, rel=2e-3)


@pytest.mark.parametrize(
    ("hypochlorite", "chlorine"), [(5.25, 5.0), (6.0, 5.7), (8.25, 7.85), (12.5, 11.9)]
)
def test_available_chlorine_is_a_little_less_than_the_label_percent(hypochlorite, chlorine):
    """Molar masses of Cl2 and NaOCl, IUPAC: 70.906 and 74.442. [computed by hand]"""
    assert available_chlorine_percent(hypochlorite) == pytest.approx(chlorine, abs=0.02)


@given(stocks, shares, st.floats(1.0, 100_000.0))
def test_the_dose_made_up_reaches_the_strength_asked_for(stock, share, total_ml):
    made = dose(stock, stock * share, total_ml)
    assert made.concentrate_ml + made.water_ml == pytest.approx(total_ml)
    reached = strength_mg_per_l(stock, made.concentrate_ml, max(0.0, made.water_ml))
    assert reached == pytest.approx(stock * share)


@given(stocks, shares)
def test_parts_of_water_say_the_same_as_the_dose(stock, share):
    made = dose(stock, stock * share, 1000.0)
    parts = parts_of_water(stock, stock * share)
    assert parts * made.concentrate_ml == pytest.approx(made.water_ml, abs=1e-6)


@given(stocks, st.floats(0.1, 1000.0), st.floats(0.0, 10_000.0), st.floats(1.0, 1000.0))
def test_more_water_is_always_weaker(stock, concentrate_ml, water_ml, more_ml):
    weaker = strength_mg_per_l(stock, concentrate_ml, water_ml + more_ml)
    assert weaker < strength_mg_per_l(stock, concentrate_ml, water_ml)


def test_by_mass_or_by_volume_changes_a_two_percent_caustic_by_two_percent():
    by_mass = mg_per_l_from_percent_ww(2.0, 1.0207)
    assert by_mass / mg_per_l_from_percent_wv(2.0) == pytest.approx(1.02, abs=0.001)


@pytest.mark.parametrize(
    ("stock", "target", "total_ml"),
    [(100.0, 100.1, 1000.0), (0.0, 0.0, 1000.0), (100.0, -1.0, 1000.0), (100.0, 10.0, math.nan)],
)
def test_a_dose_that_cannot_be_made_is_refused(stock, target, total_ml):
    with pytest.raises(OutsideRange):
        dose(stock, target, total_ml)


def test_nothing_poured_has_no_strength():
    with pytest.raises(OutsideRange, match="volume of solution"):
        strength_mg_per_l(52_500.0, 0.0, 0.0)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: mg_per_l_from_percent_ww(101.0, 1.1),
        lambda: mg_per_l_from_percent_ww(10.0, 1108.9),
        lambda: mg_per_l_from_percent_wv(201.0),
        lambda: available_chlorine_percent(31.0),
        lambda: powder_g(0.0, 5000.0, 1.0),
        lambda: parts_of_water(1000.0, 0.0),
    ],
)
def test_a_label_read_wrongly_is_refused(ask):
    with pytest.raises(OutsideRange):
        ask()
