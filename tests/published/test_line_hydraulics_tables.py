"""Viscosity of water, and the volume of draught lines, against what others printed."""

import pytest
from CoolProp.CoolProp import PropsSI

from kegsafe.science.line_hydraulics import line_volume_ml, water_kinematic_viscosity_m2_s
from kegsafe.science.tables import rows
from tests.published.published_table import label, published

US_FL_OZ_ML = 29.5735
FOOT_M = 0.3048


@pytest.mark.parametrize("row", published("ict_water"), ids=label)
def test_viscosity_of_water_is_the_critical_tables(row):
    printed_m2_s = 1e-6 * float(row["kinematic_viscosity_mm2_s"])
    computed = water_kinematic_viscosity_m2_s(float(row["temperature_degc"]))
    assert computed == pytest.approx(printed_m2_s, rel=0.008)  # 1928; 1.0087 cP then, 1.002 now


@pytest.mark.parametrize(
    ("temperature_degc", "printed_mm2_s"),
    [
        (0, 1.787),
        (5, 1.519),
        (10, 1.307),
        (20, 1.004),
        (30, 0.801),
        (40, 0.658),
        (50, 0.553),
        (60, 0.475),
        (70, 0.413),
        (80, 0.365),
    ],
)
def test_viscosity_of_water_is_the_engineers_table(temperature_degc, printed_mm2_s):
    """Engineers Edge, kinematic viscosity of water in SI units. [read]"""
    computed = 1e6 * water_kinematic_viscosity_m2_s(temperature_degc)
    assert computed == pytest.approx(printed_mm2_s, rel=0.003)


@pytest.mark.parametrize("temperature_degc", [1, 5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80])
def test_viscosity_of_water_is_the_reference_librarys(temperature_degc):
    """IAPWS viscosity and IAPWS-95 density as coded in CoolProp."""
    state = ("T", temperature_degc + 273.15, "P", 101_325, "Water")
    library = PropsSI("V", *state) / PropsSI("D", *state)
    computed = water_kinematic_viscosity_m2_s(temperature_degc)
    assert computed == pytest.approx(library, rel=0.003)


@pytest.mark.parametrize(
    ("nominal_inch", "printed_oz_per_ft"), [("3/16", 0.167), ("1/4", 0.333), ("3/8", 0.75)]
)
def test_a_line_holds_the_rounded_ounces_a_foot_of_the_trade(nominal_inch, printed_oz_per_ft):
    """Keg calculator page at barninja.com, volume per foot, rounded fractions. [read]"""
    bore_mm = next(
        float(row["bore_mm"])
        for row in rows("science/line_bores")
        if row["nominal_inch"] == nominal_inch
    )
    computed = line_volume_ml(FOOT_M, bore_mm) / US_FL_OZ_ML
    assert computed == pytest.approx(printed_oz_per_ft, rel=0.1)


def test_geometry_refutes_the_copy_that_prints_five_sixteenths_as_three_eighths():
    """The same page prints 0.750 oz/ft for both; two bores cannot hold the same. [read]"""
    assert line_volume_ml(FOOT_M, 7.9375) / US_FL_OZ_ML == pytest.approx(0.51, abs=0.005)
