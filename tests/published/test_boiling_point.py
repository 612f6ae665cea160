"""Water's saturation line, the standard atmosphere and the boiling-point check.

IAPWS-95 as coded in CoolProp 8.0.0; steam tables; ISO 2533 (1975); two printed tables of
boiling points by altitude in shared/science/boiling_points.csv, each row with its source.
"""

import pytest
from CoolProp.CoolProp import PropsSI

from kegsafe.science.atmosphere import standard_pressure_bar_abs
from kegsafe.science.boiling_point import boiling_point_at_altitude, boiling_point_at_pressure
from kegsafe.science.tables import rows
from kegsafe.science.water_vapour import saturation_pressure_bar_abs

STEAM_TABLE = {10: 1.2282, 20: 2.3393, 30: 4.2470, 40: 7.3849, 50: 12.352}
STEAM_TABLE |= {60: 19.946, 70: 31.201, 80: 47.414, 90: 70.182, 100: 101.42}

STANDARD_ATMOSPHERE = {-500: 1074.78, 0: 1013.25, 500: 954.61, 1000: 898.75, 1500: 845.56}
STANDARD_ATMOSPHERE |= {2000: 794.95, 2500: 746.82, 3000: 701.08, 3500: 657.64}
STANDARD_ATMOSPHERE |= {4000: 616.40, 4500: 577.28}


@pytest.mark.parametrize("t", [0.01, *range(1, 111)])
def test_vapour_pressure_is_that_of_the_reference_equation(t):
    theirs = PropsSI("P", "T", t + 273.15, "Q", 0, "Water") / 1e5
    assert saturation_pressure_bar_abs(t) == pytest.approx(theirs, rel=0.0003)


@pytest.mark.parametrize(
    ("t", "kpa"),
    STEAM_TABLE.items(),
)
def test_vapour_pressure_is_that_of_the_steam_tables(t, kpa):
    """Saturation table of common steam tables, IAPWS-95. [memory]"""
    assert saturation_pressure_bar_abs(t) == pytest.approx(kpa / 100.0, rel=0.0002)


@pytest.mark.parametrize(
    ("metres", "hpa"),
    STANDARD_ATMOSPHERE.items(),
)
def test_air_pressure_is_that_of_the_standard_atmosphere(metres, hpa):
    """ISO 2533 (1975), pressure by geopotential altitude. [memory]"""
    assert standard_pressure_bar_abs(metres) == pytest.approx(hpa / 1000.0, rel=0.0001)


@pytest.mark.parametrize(
    "row", rows("science/boiling_points"), ids=lambda r: f"{r['altitude_ft']}ft-{r['verified'][:4]}"
)
def test_water_boils_where_the_printed_table_says(row):
    metres = 0.3048 * float(row["altitude_ft"])
    point = boiling_point_at_altitude(metres)
    printed = float(row["boiling_degc"])
    assert point.temperature_degc == pytest.approx(printed, abs=0.23)
    assert abs(point.temperature_degc - printed) < point.uncertainty_degc


@pytest.mark.parametrize(
    ("kpa", "degc"), [(70, 89.93), (80, 93.49), (95, 98.18), (100, 99.61), (105, 100.98)]
)
def test_water_boils_at_a_measured_pressure_where_the_reference_equation_says(kpa, degc):
    """CoolProp 8.0.0, IAPWS-95. [computed]"""
    assert boiling_point_at_pressure(kpa / 100.0).temperature_degc == pytest.approx(degc, abs=0.01)


@pytest.mark.parametrize("hpa", range(500, 1101, 25))
def test_the_boiling_point_is_that_of_the_reference_equation_over_the_whole_range(hpa):
    theirs = PropsSI("T", "P", hpa * 100.0, "Q", 0, "Water") - 273.15
    assert boiling_point_at_pressure(hpa / 1000.0).temperature_degc == pytest.approx(
        theirs, abs=0.01
    )


def test_at_one_standard_atmosphere_water_boils_three_hundredths_below_a_hundred():
    """ITS-90. [memory; CoolProp agrees]"""
    assert boiling_point_at_pressure(1.01325).temperature_degc == pytest.approx(99.974, abs=0.002)


def test_twenty_millibar_of_weather_move_the_boiling_point_by_half_a_degree():
    high = boiling_point_at_pressure(1.02325).temperature_degc
    low = boiling_point_at_pressure(1.00325).temperature_degc
    assert high - low == pytest.approx(0.55, abs=0.02)
