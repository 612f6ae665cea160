"""Water activity against osmotic coefficients at 25 degC and freezing points.

Freezing points are a route of their own: ice and solution share the activity of water,
which follows from the heat of fusion of ice, 6009.5 J/mol, and the change of heat
capacity, 38.1 J/(mol K). [memory] The numbers printed are the CRC Handbook's.
"""

import math

import pytest

from kegsafe.science.water_activity import norrish, of_mixture, of_salt, of_sucrose
from tests.published.published_table import label, published

OSMOTIC = "osmotic_water_activity_25_degc"
CRC = "crc_aqueous_solutions_20_degc"
SWEET = ("sucrose", "glucose", "fructose", "glycerol")
FROZEN = [
    row
    for name in SWEET
    for row in published(CRC, solute=name)
    if row["freezing_point_depression_k"]
]
FROZEN_BRINE = [
    row for row in published(CRC, solute="sodium chloride") if float(row["mass_percent"]) <= 6
]


def activity_at_freezing(depression_k: float) -> float:
    melting_k = 273.15
    freezing_k = melting_k - depression_k
    ratio = melting_k / freezing_k
    fusion = 6009.5 / 8.314462 * (1 / melting_k - 1 / freezing_k)
    return math.exp(fusion + 38.1 / 8.314462 * (ratio - 1 - math.log(ratio)))


@pytest.mark.parametrize("row", published(OSMOTIC, solute="sucrose"), ids=label)
def test_a_sucrose_syrup_up_to_saturation_has_the_activity_of_robinson_and_stokes(row):
    sugar_g = 342.30 * float(row["molality_mol_kg"])
    computed = of_sucrose(100 * sugar_g / (sugar_g + 1000)).value
    assert computed == pytest.approx(float(row["water_activity"]), abs=0.001)


@pytest.mark.parametrize("row", published(OSMOTIC, solute="sodium chloride"), ids=label)
def test_a_brine_has_the_activity_the_tables_give(row):
    computed = of_salt(float(row["molality_mol_kg"]))
    assert computed == pytest.approx(float(row["water_activity"]), abs=0.001)


@pytest.mark.parametrize("row", FROZEN, ids=label)
def test_a_sweet_solution_freezes_where_its_activity_says(row):
    computed = norrish(row["solute"], float(row["mass_percent"]))
    depression_k = float(row["freezing_point_depression_k"])
    assert computed == pytest.approx(activity_at_freezing(depression_k), abs=0.002)


@pytest.mark.parametrize("row", FROZEN_BRINE, ids=label)
def test_a_thin_brine_freezes_where_its_activity_says(row):
    computed = of_salt(float(row["molality_mol_kg"]))
    depression_k = float(row["freezing_point_depression_k"])
    assert computed == pytest.approx(activity_at_freezing(depression_k), abs=0.0015)


def test_isotonic_salt_solution_has_the_activity_an_instrument_maker_gives():
    """EminTech, details for salt solutions: 0.9 % sodium chloride, 0.996 at 22.5 degC. [read]"""
    salt_mol_per_kg = 0.9 / 99.1 / 58.443 * 1000
    assert of_salt(salt_mol_per_kg) == pytest.approx(0.996, abs=0.0015)


@pytest.mark.parametrize(("sugar_percent", "printed"), [(55.0, 0.91), (65.0, 0.87)])
def test_rounded_anchors_of_food_microbiology_lie_near(sugar_percent, printed):
    """General food water-activity table, two decimals. [second-hand, no address]"""
    assert of_sucrose(sugar_percent).value == pytest.approx(printed, abs=0.01)


@pytest.mark.parametrize(("salt_percent", "printed"), [(7.0, 0.95), (12.0, 0.91), (15.0, 0.87)])
def test_rounded_anchors_of_brines_lie_near(salt_percent, printed):
    """The same table, salt column. [second-hand, no address]"""
    salt_mol_per_kg = salt_percent / (100 - salt_percent) / 58.443 * 1000
    assert of_salt(salt_mol_per_kg) == pytest.approx(printed, abs=0.025)


@pytest.mark.parametrize(
    ("abv_percent", "library"), [(5, 0.9853), (10, 0.9720), (20, 0.9492), (40, 0.9124)]
)
def test_beside_ethanol_the_estimate_never_undercuts_a_thermodynamic_library(abv_percent, library):
    """UNIFAC in the general library thermo 0.6.1 at 25 degC. [computed]"""
    ethanol_g = abv_percent * 7.8924
    estimate = of_mixture({}, 1000.0 - ethanol_g, ethanol_g)
    assert estimate.value >= library
