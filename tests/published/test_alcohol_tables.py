"""Density and strength of ethanol in water against four printed tables and a library.

Each table carries its document, section and how far it was verified in its rows:
CRC Handbook (20 degC), USP 29 (60 degF, after NBS 1913), US Bureau of Standards (10 to
40 degC), Lange's Handbook (20 degC). CoolProp's aqueous ethanol is Melinder's fit.
"""

import pytest
from CoolProp.CoolProp import PropsSI

from kegsafe.science.alcohol import (
    ETHANOL_KG_M3,
    Part,
    abv_from_mass_fraction,
    blend,
    density_by_abv_kg_m3,
    density_kg_m3,
    mass_fraction_from_abv,
    standard_drinks,
    syrup,
)
from kegsafe.science.bisection import solve_rising
from tests.published.published_table import label, published

CRC = "crc_aqueous_solutions_20_degc"
CRC_ETHANOL = published(CRC, solute="ethanol")
USP = published("usp_alcoholometric_60_degf")
BUREAU = published("nbs_ethanol_density")
LANGE = published("lange_ethanol_20_degc")
SIXTY_DEGF = 15.5556
AIR_KG_M3 = 1.2  # buoyancy: these gravities were weighed in air


def crc_abv(row):
    """Strength printed as mol/l, turned into % vol with ethanol's own printed molarity."""
    return 100.0 * float(row["molarity_mol_l"]) / 17.133


def crc_row(mass_percent):
    return next(row for row in CRC_ETHANOL if float(row["mass_percent"]) == mass_percent)


@pytest.mark.parametrize("row", CRC_ETHANOL, ids=label)
def test_density_at_20_degc_is_the_handbooks(row):
    computed = density_kg_m3(float(row["mass_percent"]) / 100.0)
    assert computed == pytest.approx(1000.0 * float(row["density_g_ml"]), abs=0.25)


@pytest.mark.parametrize("row", CRC_ETHANOL, ids=label)
def test_strength_by_volume_follows_from_strength_by_mass_as_in_the_handbook(row):
    computed = abv_from_mass_fraction(float(row["mass_percent"]) / 100.0)
    assert computed == pytest.approx(crc_abv(row), abs=0.05)


@pytest.mark.parametrize("row", USP, ids=label)
def test_gravity_in_air_at_25_degc_is_the_pharmacopoeias(row):
    spirit = density_kg_m3(float(row["percent_by_weight"]) / 100.0, 25.0)
    gravity = (spirit - AIR_KG_M3) / (density_kg_m3(0.0, 25.0) - AIR_KG_M3)
    assert gravity == pytest.approx(float(row["specific_gravity_25_25_in_air"]), abs=1e-4)


@pytest.mark.parametrize("row", USP, ids=label)
def test_gravity_in_air_at_60_degf_is_the_pharmacopoeias(row):
    spirit = density_kg_m3(float(row["percent_by_weight"]) / 100.0, SIXTY_DEGF)
    gravity = (spirit - AIR_KG_M3) / (density_kg_m3(0.0, SIXTY_DEGF) - AIR_KG_M3)
    assert gravity == pytest.approx(float(row["specific_gravity_60_60_in_air"]), abs=1e-4)


@pytest.mark.parametrize("row", USP, ids=label)
def test_strength_at_60_degf_is_the_pharmacopoeias(row):
    mass_fraction = float(row["percent_by_weight"]) / 100.0
    pure = density_kg_m3(1.0, SIXTY_DEGF)
    by_volume = 100.0 * mass_fraction * density_kg_m3(mass_fraction, SIXTY_DEGF) / pure
    assert by_volume == pytest.approx(float(row["percent_by_volume_60_degf"]), abs=0.01)


@pytest.mark.parametrize("row", BUREAU, ids=label)
def test_density_away_from_20_degc_is_the_bureau_of_standards(row):
    computed = density_kg_m3(
        float(row["percent_by_weight"]) / 100.0, float(row["temperature_degc"])
    )
    assert computed == pytest.approx(1000.0 * float(row["density_g_ml"]), abs=0.11)


@pytest.mark.parametrize("row", LANGE, ids=label)
def test_a_spirit_of_known_strength_weighs_what_langes_table_says(row):
    water_at_4_degc = 999.97
    computed = density_by_abv_kg_m3(float(row["percent_by_volume"]))
    assert computed == pytest.approx(
        water_at_4_degc * float(row["specific_gravity_20_4"]), abs=0.15
    )


@pytest.mark.parametrize("row", LANGE, ids=label)
def test_strength_by_mass_is_langes(row):
    computed = 100.0 * mass_fraction_from_abv(float(row["percent_by_volume"]))
    assert computed == pytest.approx(float(row["percent_by_weight"]), abs=0.1)


@pytest.mark.parametrize(
    ("abv_percent", "printed_kg_m3"),
    [
        (10, 984.71),
        (20, 973.56),
        (30, 962.21),
        (40, 948.05),
        (50, 930.14),
        (70, 885.56),
        (90, 829.18),
        (95, 811.38),
        (100, 789.24),
    ],
)
def test_density_by_strength_is_the_pharmacy_dilution_tables(abv_percent, printed_kg_m3):
    """Dilution of ethanol, pharmacy table at 20 degC, plantagea.hr. [second-hand]"""
    assert density_by_abv_kg_m3(abv_percent) == pytest.approx(printed_kg_m3, abs=0.006)


@pytest.mark.parametrize("temperature_degc", [0.01, 5.0, 10.0, 20.0, 30.0, 40.0])
def test_without_alcohol_the_formula_gives_water(temperature_degc):
    """IAPWS-95 as coded in CoolProp."""
    library = PropsSI("D", "T", temperature_degc + 273.15, "P", 101_325, "Water")
    assert density_kg_m3(0.0, temperature_degc) == pytest.approx(library, abs=0.01)


@pytest.mark.parametrize("mass_fraction", [0.1, 0.2, 0.3, 0.4, 0.5, 0.6])
@pytest.mark.parametrize("temperature_degc", [0.0, 10.0, 20.0, 30.0])
def test_density_is_within_half_a_kilogram_of_melinders_fit(mass_fraction, temperature_degc):
    """Melinder 2010 as coded in CoolProp, incompressible aqueous ethanol (MEA)."""
    fluid = f"INCOMP::MEA[{mass_fraction}]"
    library = PropsSI("D", "T", temperature_degc + 273.15, "P", 101_325, fluid)
    assert density_kg_m3(mass_fraction, temperature_degc) == pytest.approx(library, abs=0.5)


@pytest.mark.parametrize(
    ("strong", "weak"),
    [
        (96, 48),
        (92, 46),
        (90, 30),
        (80, 40),
        (60, 30),
        (60, 20),
        (48, 16),
        (40, 20),
        (36, 12),
        (30, 15),
        (28, 14),
        (24, 8),
        (20, 10),
        (16, 8),
        (12, 6),
        (8, 4),
        (100, 50),
    ],
)
def test_a_blend_with_water_reaches_the_strength_of_the_handbooks_weaker_row(strong, weak):
    """CRC Handbook: equal masses of alcohol in both rows, water to make up the difference."""
    spirit, goal, kilograms = crc_row(strong), crc_row(weak), strong / weak
    spirit_ml = 1000.0 / float(spirit["density_g_ml"])
    water_ml = 1000.0 * (kilograms - 1.0) / 0.9982
    result = blend([Part(spirit_ml, min(100.0, crc_abv(spirit))), Part(water_ml, 0.0)])
    assert result.abv_percent == pytest.approx(crc_abv(goal), abs=0.05)
    assert result.volume_ml == pytest.approx(
        1000.0 * kilograms / float(goal["density_g_ml"]), rel=5e-4
    )


def test_reducing_200_proof_to_190_takes_the_water_the_gauging_manual_says():
    """27 CFR 30.64: 1,000 lb of 200 proof need 82.03 lb of water. [read]"""

    def strength_at_60_degf(mass_fraction):
        weighed = mass_fraction * density_kg_m3(mass_fraction, SIXTY_DEGF)
        return 100.0 * weighed / density_kg_m3(1.0, SIXTY_DEGF)

    mass_fraction = solve_rising(strength_at_60_degf, 95.0, 0.0, 1.0)
    assert 1000.0 / mass_fraction - 1000.0 == pytest.approx(82.03, abs=0.05)


def test_a_pharmacys_dilution_by_weight_comes_out():
    """Qualenica, converting alcohol percentages: 35.36 g of 96.2 % vol to 100 g is 40 % vol,
    from tables that differ by 0.1 %. [read]"""
    strong_g = 100.0 * mass_fraction_from_abv(40.0) / mass_fraction_from_abv(96.2)
    assert strong_g == pytest.approx(35.36, rel=1.1e-3)


def test_eighty_proof_is_a_little_stronger_by_mass_than_40_percent_at_20_degc():
    """USP 29 at 60 degF and the pharmacy table at 20 degC cannot print the same mass share."""

    def strength_at_60_degf(mass_fraction):
        weighed = mass_fraction * density_kg_m3(mass_fraction, SIXTY_DEGF)
        return 100.0 * weighed / density_kg_m3(1.0, SIXTY_DEGF)

    assert solve_rising(strength_at_60_degf, 40.0, 0.0, 1.0) > mass_fraction_from_abv(40.0)


@pytest.mark.parametrize(
    ("sweet", "thin"), [(60, 30), (48, 24), (44, 22), (40, 20), (36, 18), (32, 16), (30, 15)]
)
def test_a_syrup_let_down_with_water_fills_the_volume_of_the_handbooks_thinner_row(sweet, thin):
    """CRC Handbook, sucrose at 20 degC: a kilogram of syrup and a kilogram of water."""
    rows = {float(row["mass_percent"]): row for row in published(CRC, solute="sucrose")}
    syrup_ml = 1000.0 / float(rows[sweet]["density_g_ml"])
    result = blend([syrup(syrup_ml, sweet), Part(1000.0 / 0.9982, 0.0)])
    assert result.volume_ml == pytest.approx(2000.0 / float(rows[thin]["density_g_ml"]), rel=2e-4)
    assert result.sugar_g_per_l == pytest.approx(
        342.296 * float(rows[thin]["molarity_mol_l"]), rel=2e-3
    )


def test_pure_ethanol_weighs_what_the_directive_divides_by():
    """Council Directive 76/766/EEC: 789.24 kg/m3 at 20 degC. [second-hand]"""
    assert pytest.approx(789.24, abs=0.001) == ETHANOL_KG_M3


@pytest.mark.parametrize(
    ("place", "millilitres_of_ethanol"),
    [("UK", 10.0), ("US", 17.7), ("Australia", 12.7), ("Denmark", 15.2), ("Hungary", 21.5)],
)
def test_one_standard_drink_holds_the_ethanol_the_lists_print(place, millilitres_of_ethanol):
    """Lists of standard drinks print grams beside millilitres. [second-hand]"""
    assert standard_drinks(millilitres_of_ethanol, 100.0, place) == pytest.approx(1.0, abs=0.005)
