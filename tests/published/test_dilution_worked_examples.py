"""Doses that health departments, CDC and trade pages worked out themselves."""

import pytest

from kegsafe.science.dilution import (
    dose,
    mg_per_l_from_percent_wv,
    mg_per_l_from_percent_ww,
    parts_of_water,
    powder_g,
    strength_mg_per_l,
)
from tests.published.published_table import label, published

CRC = "crc_aqueous_solutions_20_degc"
BLEACH_5_25 = mg_per_l_from_percent_wv(5.25)
US_GAL_ML = 3785.41
US_FL_OZ_ML = US_GAL_ML / 128
TABLESPOON_ML = US_FL_OZ_ML / 2


def test_an_ounce_of_bleach_made_up_to_a_gallon_is_410_mg_per_l():
    """Kansas Department of Health and Environment: 1 fl oz of 5.25 % in 1 gal is 410. [read]"""
    computed = strength_mg_per_l(BLEACH_5_25, US_FL_OZ_ML, US_GAL_ML - US_FL_OZ_ML)
    assert computed == pytest.approx(410, abs=0.5)


def test_a_thousand_gallons_of_50_mg_per_l_take_122_ounces():
    """The same page: 122 fl oz for 50 mg/l in 1,000 gal. [read]"""
    computed_ml = dose(BLEACH_5_25, 50.0, 1000 * US_GAL_ML).concentrate_ml
    assert computed_ml / US_FL_OZ_ML == pytest.approx(122, abs=0.5)


def test_ten_thousand_gallons_of_410_mg_per_l_take_78_gallons():
    """The same page: 78 gal. [read]"""
    computed_ml = dose(BLEACH_5_25, 410.0, 10_000 * US_GAL_ML).concentrate_ml
    assert computed_ml / US_GAL_ML == pytest.approx(78, abs=0.5)


@pytest.mark.parametrize(
    ("stock_percent", "target_percent", "parts"), [(3.5, 0.5, 6.0), (5.0, 0.1, 49.0)]
)
def test_parts_of_water_are_those_of_cdc(stock_percent, target_percent, parts):
    """CDC, Environmental Infection Control, Appendix E. [read]"""
    stock = mg_per_l_from_percent_wv(stock_percent)
    target = mg_per_l_from_percent_wv(target_percent)
    assert parts_of_water(stock, target) == pytest.approx(parts)


def test_grams_of_powder_are_those_of_cdc():
    """CDC, Appendix E: 0.5 % from 35 % powder, 14.3 g per litre. [read]"""
    assert powder_g(35.0, mg_per_l_from_percent_wv(0.5), 1.0) == pytest.approx(14.3, abs=0.05)


@pytest.mark.parametrize("printed", [200, 205])
def test_a_tablespoon_of_bleach_in_a_gallon_is_about_200(printed):
    """NC State extension: about 200 ppm [read]; a day-care page: 205 [second-hand]."""
    computed = strength_mg_per_l(BLEACH_5_25, TABLESPOON_ML, US_GAL_ML)
    assert computed == pytest.approx(printed, rel=0.025)


def test_a_teaspoon_of_the_stronger_bleach_in_a_gallon_is_about_100():
    """State of Alaska handout: 1 tsp to the gallon, aim for 100 ppm. [second-hand]"""
    computed = strength_mg_per_l(mg_per_l_from_percent_wv(8.25), TABLESPOON_ML / 3, US_GAL_ML)
    assert computed == pytest.approx(100, rel=0.08)


def test_five_gallons_of_iodophor_take_1_6_tablespoons():
    """homebrewtalk.com.br: 1 % iodophor to 12.5 ppm in 5 gal. [second-hand]"""
    computed_ml = dose(mg_per_l_from_percent_wv(1.0), 12.5, 5 * US_GAL_ML).concentrate_ml
    assert computed_ml / TABLESPOON_ML == pytest.approx(1.6, abs=0.005)


def test_half_a_pound_of_chlorine_is_in_a_gallon_of_six_percent_bleach():
    """poolforum.com: 6 % bleach at 8.5 lb a gallon holds 0.5 lb of chlorine. [read]"""
    density_g_ml = 8.5 * 453.59237 / US_GAL_ML
    pounds = mg_per_l_from_percent_ww(6.0, density_g_ml) * US_GAL_ML / 1000 / 1000 / 453.59237
    assert pounds == pytest.approx(0.5, abs=0.015)


def test_strong_caustic_is_nineteen_molar():
    """labveda.com: 50 % w/w sodium hydroxide at 1.515 g/ml is 18.94 mol/l. [read]"""
    computed = mg_per_l_from_percent_ww(50.0, 1.515) / 1000 / 40.00
    assert computed == pytest.approx(18.94, abs=0.005)


@pytest.mark.parametrize(
    "row",
    [row for row in published(CRC, solute="sodium chloride") if float(row["mass_percent"]) >= 2],
    ids=label,
)
def test_percent_by_mass_and_density_give_the_handbooks_molarity(row):
    """CRC Handbook: any solute does; brine has a row for each strength."""
    percent, density = float(row["mass_percent"]), float(row["density_g_ml"])
    computed = mg_per_l_from_percent_ww(percent, density) / 1000 / float(row["molar_mass_g_mol"])
    assert computed == pytest.approx(float(row["molarity_mol_l"]), abs=0.001)
