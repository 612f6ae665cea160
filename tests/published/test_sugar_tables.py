"""Sucrose syrups against the CRC Handbook, NBS Circular C440, Mohos and IAPWS-95."""

import pytest
from CoolProp.CoolProp import PropsSI

from kegsafe.science.sugar import (
    brix_from_sugar_g_per_l,
    density_kg_m3,
    solubility_brix,
    sugar_g_per_l,
    water_density_kg_m3,
)
from tests.published.published_table import label, published

CRC_SUCROSE = published("crc_aqueous_solutions_20_degc", solute="sucrose")
C440 = published("nbs_c440_syrup_weight")
SOKOLOVSKY = published("sokolovsky_sucrose_solubility")
WATER = published("ict_water")
KG_M3_PER_LB_US_GAL = 0.45359237 / 3.785411784e-3


@pytest.mark.parametrize("row", CRC_SUCROSE, ids=label)
def test_density_at_20_degc_is_the_handbooks(row):
    printed_kg_m3 = 1000.0 * float(row["density_g_ml"])
    assert density_kg_m3(float(row["mass_percent"])) == pytest.approx(printed_kg_m3, rel=1e-3)


@pytest.mark.parametrize(
    "row", [row for row in CRC_SUCROSE if float(row["mass_percent"]) <= 60], ids=label
)
def test_up_to_60_brix_density_is_the_handbooks_to_a_quarter_of_a_kilogram(row):
    printed_kg_m3 = 1000.0 * float(row["density_g_ml"])
    assert density_kg_m3(float(row["mass_percent"])) == pytest.approx(printed_kg_m3, abs=0.25)


@pytest.mark.parametrize("row", CRC_SUCROSE, ids=label)
def test_sugar_by_the_litre_is_the_handbooks(row):
    printed_g_per_l = 342.296 * float(row["molarity_mol_l"])
    half_a_digit = 342.296 * 0.0005
    assert sugar_g_per_l(float(row["mass_percent"])) == pytest.approx(
        printed_g_per_l, abs=half_a_digit + 0.6
    )


@pytest.mark.parametrize(
    ("brix", "printed_kg_m3"), [(10, 1038.1), (20, 1081.0), (30, 1127.0), (40, 1176.4)]
)
def test_brix_comes_back_from_the_sugar_of_a_litre(brix, printed_kg_m3):
    """Density table quoted from the CRC Handbook at calculator.city. [second-hand]"""
    assert brix_from_sugar_g_per_l(printed_kg_m3 * brix / 100) == pytest.approx(brix, abs=0.01)


@pytest.mark.parametrize("row", C440, ids=label)
def test_a_gallon_of_syrup_weighs_what_the_bureau_of_standards_printed(row):
    in_air = float(row["pounds_per_us_gallon_in_air"]) * KG_M3_PER_LB_US_GAL
    in_vacuum = in_air * (1 - 1.2 / 8400) + 1.2  # buoyancy on the syrup and on brass weights
    assert density_kg_m3(float(row["brix"])) == pytest.approx(in_vacuum, abs=0.12)


@pytest.mark.parametrize("row", C440, ids=label)
def test_a_gallon_of_syrup_holds_the_sugar_the_bureau_of_standards_printed(row):
    printed_g_per_l = float(row["pounds_sucrose_per_us_gallon"]) * KG_M3_PER_LB_US_GAL
    assert sugar_g_per_l(float(row["brix"])) == pytest.approx(printed_g_per_l, abs=0.12)


@pytest.mark.parametrize(
    ("temperature_degc", "brix", "printed_kg_m3"), [(10, 65.6, 1323.5), (15, 66.3, 1328.0)]
)
def test_a_cold_saturated_syrup_weighs_what_antokolskaya_found(
    temperature_degc, brix, printed_kg_m3
):
    """Mohos 2010, table A2.2, after Antokolskaya et al. 1964; its steps are uneven. [read]"""
    computed = density_kg_m3(brix, temperature_degc)
    assert computed == pytest.approx(printed_kg_m3, rel=1.5e-3)


@pytest.mark.parametrize("row", SOKOLOVSKY, ids=label)
def test_solubility_agrees_with_a_second_table(row):
    computed = solubility_brix(float(row["temperature_degc"]))
    assert computed == pytest.approx(float(row["percent_by_mass"]), abs=0.05)


@pytest.mark.parametrize(
    ("temperature_degc", "printed_g_per_100_g"), [(20.0, 204.0), (25.0, 211.4)]
)
def test_solubility_agrees_with_a_textbook_exercise(temperature_degc, printed_g_per_100_g):
    """204 g per 100 g at 20 degC: socratic.org; 211.4 g at 25 degC: mynassauclub.com. [read]"""
    brix = solubility_brix(temperature_degc)
    assert 100 * brix / (100 - brix) == pytest.approx(printed_g_per_100_g, abs=0.2)


@pytest.mark.parametrize("row", WATER, ids=label)
def test_density_of_water_is_the_critical_tables(row):
    printed_kg_m3 = 1000.0 * float(row["density_g_ml"])
    computed = water_density_kg_m3(float(row["temperature_degc"]))
    assert computed == pytest.approx(printed_kg_m3, abs=0.04)


@pytest.mark.parametrize("temperature_degc", [0.01, 5, 10, 20, 30, 40, 50, 60, 70, 80])
def test_density_of_water_is_the_reference_librarys(temperature_degc):
    """IAPWS-95 as coded in CoolProp."""
    library = PropsSI("D", "T", temperature_degc + 273.15, "P", 101_325, "Water")
    assert water_density_kg_m3(temperature_degc) == pytest.approx(library, abs=0.01)
