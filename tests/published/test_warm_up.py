"""A sealed keg that warms up, against a balance built from other people's relations.

No measured keg was found in print. The check draws up the balance with nothing of ours:
solubility of Carroll, Slupsky and Mather 1991 [abstract read], squeezed by the partial
molar volume of CO2 in water (Krichevsky and Kasarnovsky) [memory], gas from Span and Wagner
1996 and water from IAPWS-95, both as coded in CoolProp 8.0.0.
"""

import math

import CoolProp
import pytest
from CoolProp.CoolProp import PropsSI

from kegsafe.science.warm_up import SealedKeg

WATER_MOL_PER_KG = 55.508
KEG_L = 19.0


def water_kg_per_l(t):
    return PropsSI("D", "T", max(t, 0.02) + 273.15, "P", 101325.0, "Water") / 1000.0


def vapour_bar(t):
    return PropsSI("P", "T", max(t, 0.02) + 273.15, "Q", 0, "Water") / 1e5


def co2_mol(t, bar, water_kg):
    state = CoolProp.AbstractState("HEOS", "CO2")
    state.update(CoolProp.PT_INPUTS, bar * 1e5, t + 273.15)
    k = t + 273.15
    henry_mpa = math.exp(-6.8346 + 1.2817e4 / k - 3.7668e6 / k**2 + 2.997e8 / k**3)
    squeeze = math.exp(-(bar - 1.0) * 32.3e-3 / (0.0831446 * k))
    fraction = state.fugacity_coefficient(0) * bar / 10.0 / henry_mpa * squeeze
    dissolved = water_kg * WATER_MOL_PER_KG * fraction / (1.0 - fraction)
    head_space_l = KEG_L - water_kg / water_kg_per_l(t)
    return dissolved + state.rhomolar() / 1000.0 * head_space_l


@pytest.mark.parametrize("liquid_l", [9.5, 15.0, 17.0, 18.0, 18.5])
@pytest.mark.parametrize("gauge", [1.0, 2.0, 3.4, 4.8])
@pytest.mark.parametrize(("t1", "t2"), [(2, 10), (2, 25), (2, 45), (4, 20), (4, 35), (10, 40)])
def test_other_relations_find_the_same_gas_within_four_per_cent_of_our_pressure(
    liquid_l, gauge, t1, t2
):
    water_kg = liquid_l * water_kg_per_l(t1)
    ours = SealedKeg(KEG_L, liquid_l, t1, gauge).gauge_bar_at(t2) + 1.01325
    before = co2_mol(t1, gauge + 1.01325 - vapour_bar(t1), water_kg)
    at_less = co2_mol(t2, 0.96 * ours - vapour_bar(t2), water_kg)
    at_more = co2_mol(t2, 1.04 * ours - vapour_bar(t2), water_kg)
    assert at_less < before < at_more
