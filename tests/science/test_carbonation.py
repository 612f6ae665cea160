"""Carbonation: the figures worked beforehand, and what must hold for any keg.

Worked figures: computed for this project from Weiss 1974 by a separate program. [computed]
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.atmosphere import standard_pressure_bar_abs
from kegsafe.science.carbonation import (
    HIGHEST_ABV_PERCENT,
    HIGHEST_BRIX,
    HIGHEST_DEGC,
    HIGHEST_GAUGE_BAR,
    carbonation,
    carbonation_pressure,
    drink_factor,
)
from kegsafe.science.ranges import OutsideRange

PSI = 0.0689476
temperatures = st.floats(0.0, HIGHEST_DEGC)
gauges = st.floats(0.0, HIGHEST_GAUGE_BAR)
sugars = st.floats(0.0, HIGHEST_BRIX)
alcohols = st.floats(0.0, HIGHEST_ABV_PERCENT)
altitudes = st.floats(-500.0, 4500.0)


@pytest.mark.parametrize(
    ("t", "gauge", "volumes", "g_per_l"),
    [(4, 1.0, 2.89, 5.71), (5, 2.0, 4.14, 8.18), (8, 1.5, 3.11, 6.15), (20, 2.0, 2.52, 4.99)],
)
def test_water_settles_at_the_worked_volumes(t, gauge, volumes, g_per_l):
    water = carbonation(t, gauge)
    assert water.volumes == pytest.approx(volumes, abs=0.006)
    assert water.g_per_l == pytest.approx(g_per_l, abs=0.011)


USUAL_PRESSURES = {  # volumes at 2, 3, 4, 10 and 20 degC
    30: (4.74, 4.56, 4.39, 3.54, 2.58),
    40: (5.77, 5.55, 5.35, 4.32, 3.15),
    50: (6.79, 6.54, 6.30, 5.09, 3.71),
}


@pytest.mark.parametrize("psi", USUAL_PRESSURES)
def test_the_usual_carbonating_pressures_hold_the_worked_volumes(psi):
    held = [carbonation(t, psi * PSI).volumes for t in (2, 3, 4, 10, 20)]
    assert held == pytest.approx(USUAL_PRESSURES[psi], rel=0.003)


def test_fifty_psi_at_two_degrees_is_far_more_gas_than_at_ten():
    cold, cool = carbonation(2, 50 * PSI), carbonation(10, 50 * PSI)
    assert cold.g_per_l == pytest.approx(13.42, rel=0.01)
    assert cool.g_per_l == pytest.approx(10.05, rel=0.01)
    assert cool.volumes / cold.volumes == pytest.approx(0.75, abs=0.01)


SET_PRESSURES = {
    2: (0.27, 0.60, 0.92, 1.25, 1.58, 1.91),
    4: (0.38, 0.73, 1.08, 1.43, 1.79, 2.15),
    6: (0.48, 0.86, 1.24, 1.62, 2.01, 2.39),
    8: (0.60, 1.00, 1.41, 1.82, 2.23, 2.65),
    10: (0.71, 1.15, 1.59, 2.03, 2.47, 2.92),
    15: (1.03, 1.54, 2.06, 2.59, 3.11, 3.64),
    20: (1.37, 1.97, 2.58, 3.19, 3.81, 4.43),
    25: (1.74, 2.44, 3.14, 3.85, 4.56),
}


@pytest.mark.parametrize(
    ("t", "volumes", "gauge"),
    [
        (t, 2.0 + 0.5 * step, gauge)
        for t, line in SET_PRESSURES.items()
        for step, gauge in enumerate(line)
    ],
)
def test_the_pressure_to_set_is_the_worked_one(t, volumes, gauge):
    assert carbonation_pressure(t, volumes).gauge_bar == pytest.approx(gauge, abs=0.0065)


@given(temperatures, gauges, sugars, alcohols, altitudes)
def test_pressure_to_volumes_and_back_is_the_same_pressure(t, gauge, brix, abv, altitude):
    drink = {"brix": brix, "abv_percent": abv, "altitude_m": altitude}
    volumes = carbonation(t, gauge, **drink).volumes
    assert carbonation_pressure(t, volumes, **drink).gauge_bar == pytest.approx(gauge, abs=1e-6)


@given(temperatures, temperatures, gauges, sugars, alcohols)
def test_colder_is_never_less_gas(one, other, gauge, brix, abv):
    colder, warmer = sorted((one, other))
    drink = {"brix": brix, "abv_percent": abv}
    assert (
        carbonation(colder, gauge, **drink).volumes >= carbonation(warmer, gauge, **drink).volumes
    )


@given(temperatures, gauges, gauges)
def test_more_pressure_is_never_less_gas(t, one, other):
    lower, higher = sorted((one, other))
    assert carbonation(t, lower).volumes <= carbonation(t, higher).volumes


@given(temperatures, st.floats(0.0, 4.0), altitudes)
def test_a_gauge_reading_high_up_holds_what_a_lower_reading_holds_at_the_sea(t, gauge, altitude):
    """Absolute pressure decides: the missing air comes off the gauge reading."""
    at_the_sea = gauge + standard_pressure_bar_abs(altitude) - standard_pressure_bar_abs(0.0)
    if at_the_sea >= 0.0:
        up = carbonation(t, gauge, altitude_m=altitude).volumes
        assert up == pytest.approx(carbonation(t, at_the_sea).volumes, rel=1e-9)


def test_no_gauge_pressure_still_holds_the_gas_of_one_atmosphere():
    """A gauge reading taken for absolute would give none at all."""
    assert carbonation(4.0, 0.0).volumes == pytest.approx(1.46, abs=0.02)


@given(temperatures, gauges, sugars, alcohols)
def test_the_best_guess_lies_between_its_ends(t, gauge, brix, abv):
    drink = carbonation(t, gauge, brix=brix, abv_percent=abv)
    assert drink.least_volumes < drink.volumes < drink.most_volumes


@given(temperatures, st.floats(1.0, 4.0), sugars, alcohols)
def test_the_pressure_to_set_lies_between_its_ends(t, gauge, brix, abv):
    drink = {"brix": brix, "abv_percent": abv}
    wanted = carbonation(t, gauge, **drink).volumes
    pressure = carbonation_pressure(t, wanted, **drink)
    assert pressure.least_gauge_bar < pressure.gauge_bar < pressure.most_gauge_bar


def test_sugar_and_alcohol_never_raise_what_dissolves():
    plain = drink_factor(0.0, 0.0)
    assert plain.best == 1.0
    assert drink_factor(10.0, 0.0).best < plain.best
    assert drink_factor(0.0, 10.0).best < plain.best


@pytest.mark.parametrize(
    ("arguments", "keywords", "sentence"),
    [
        ((-0.1, 1.0), {}, "drink temperature must lie from 0 to 45 degC; it was -0.1 degC."),
        ((45.1, 1.0), {}, "drink temperature must lie from 0 to 45 degC; it was 45.1 degC."),
        ((4.0, -0.1), {}, "gauge pressure must lie from 0 to 5 bar gauge; it was -0.1 bar gauge."),
        ((4.0, 5.1), {}, "gauge pressure must lie from 0 to 5 bar gauge; it was 5.1 bar gauge."),
        ((4.0, 1.0), {"brix": 18.1}, "sugar must lie from 0 to 18 Brix; it was 18.1 Brix."),
        (
            (4.0, 1.0),
            {"abv_percent": 40.0},
            "alcohol must lie from 0 to 15 % vol; it was 40 % vol.",
        ),
        (
            (4.0, 1.0),
            {"altitude_m": 5000.0},
            "altitude must lie from -500 to 4500 m; it was 5000 m.",
        ),
        ((float("nan"), 1.0), {}, "drink temperature must lie from 0 to 45 degC; it was nan degC."),
    ],
)
def test_outside_the_range_there_is_a_sentence_and_no_number(arguments, keywords, sentence):
    with pytest.raises(OutsideRange) as refused:
        carbonation(*arguments, **keywords)
    assert str(refused.value) == sentence


def test_more_carbonation_than_the_range_holds_is_refused_with_what_it_does_hold():
    with pytest.raises(OutsideRange, match=r"carbonation must lie from 1\.4\d* to 8\.\d* volumes"):
        carbonation_pressure(4.0, 12.0)
