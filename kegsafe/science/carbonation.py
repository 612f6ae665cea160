"""Carbon dioxide in a drink: how much dissolves, and at what gauge pressure.

This is the only carbonation relation of the project. It gives the state a keg settles to
when the gas stays connected and the drink is still or rolled for long enough; a keg rolled
for a minute holds less.
"""

import math
from dataclasses import dataclass

from kegsafe.science.atmosphere import (
    ATMOSPHERE_BAR,
    absolute_from_gauge_bar,
    gauge_from_absolute_bar,
    standard_pressure_bar_abs,
)
from kegsafe.science.bisection import solve_rising
from kegsafe.science.ranges import within
from kegsafe.science.sugar import sugar_g_per_l
from kegsafe.science.water_vapour import saturation_pressure_bar_abs

LOWEST_DEGC, HIGHEST_DEGC = 0.0, 45.0
HIGHEST_CO2_BAR_ABS = 26.0
HIGHEST_GAUGE_BAR = 5.0
HIGHEST_BRIX = 18.0
HIGHEST_ABV_PERCENT = 15.0

CO2_G_PER_MOL = 44.0095
CO2_L_PER_MOL = 22.263  # real gas at 0 degC and 1 atm: the litre a "volume" is counted in
CO2_G_PER_VOLUME = CO2_G_PER_MOL / CO2_L_PER_MOL  # grams in a litre of drink, per volume

WATER_UNCERTAINTY = 0.03  # fraction of the dissolved amount
_GAS_CONSTANT = 82.05736  # cm3 atm/(mol K), the units of Weiss's equations
_CO2_IN_WATER_CM3_PER_MOL = 32.3


@dataclass(frozen=True, slots=True)
class Carbonation:
    """Dissolved CO2 at equilibrium; the two ends are what published relations allow."""

    volumes: float
    g_per_l: float
    least_volumes: float
    most_volumes: float


@dataclass(frozen=True, slots=True)
class CarbonationPressure:
    """Gauge pressure that holds the wanted carbonation; the ends as in `Carbonation`."""

    gauge_bar: float
    least_gauge_bar: float
    most_gauge_bar: float


@dataclass(frozen=True, slots=True)
class DrinkFactor:
    """What a drink dissolves, as a fraction of what water dissolves."""

    best: float
    least: float
    most: float


def dissolved_mol_per_l(temperature_degc: float, co2_bar_abs: float) -> float:
    """CO2 dissolved in pure water at equilibrium, mol per litre of water.

    Good to 3 % of the amount up to 6 bar absolute, against every row of the tables the
    tests name but one old measurement at 3.3 % and one marked an outlier.
    Up to 26 bar absolute it stays within 2 % of the one measured series there.

    Parameters
    ----------
    temperature_degc : 0 to 45. Weiss fitted to 40; from 40 to 45 two relations that reach
        far beyond hold it within 0.2 % and 1.8 %
    co2_bar_abs : absolute partial pressure of CO2, 0 to 26; water vapour and air not counted

    Raises OutsideRange.

    Source: Weiss 1974, Marine Chemistry 2:203-215, freshwater, with his corrections for
    the real gas and for the pressure on the liquid. [second-hand: constants from several
    public codes that agree; the paper was not read]

    >>> round(dissolved_mol_per_l(20.0, 1.01325), 4)
    0.0389
    """
    t = within("drink temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
    co2 = within("CO2 pressure", co2_bar_abs, 0.0, HIGHEST_CO2_BAR_ABS, "bar absolute")
    co2_atm = co2 / ATMOSPHERE_BAR
    total_atm = co2_atm + saturation_pressure_bar_abs(t) / ATMOSPHERE_BAR
    energy = _GAS_CONSTANT * (t + 273.15)
    real_gas = second_virial_cm3_per_mol(t) * co2_atm / energy
    squeezed_liquid = (1.0 - total_atm) * _CO2_IN_WATER_CM3_PER_MOL / energy
    return henry_mol_per_l_atm(t) * co2_atm * math.exp(real_gas + squeezed_liquid)


def gas_mol_per_l(temperature_degc: float, co2_bar_abs: float) -> float:
    """CO2 in a litre of head space, mol.

    Good to 0.3 % up to 8 bar absolute; at 26 bar absolute up to 5 % too many at 0 degC,
    0.9 % at 45 degC.

    Parameters
    ----------
    temperature_degc : 0 to 45
    co2_bar_abs : absolute partial pressure of CO2, 0 to 26

    Raises OutsideRange.

    Source: virial equation cut after the second coefficient of Weiss 1974. [as above;
    held against the Span & Wagner equation in the tests]

    >>> round(gas_mol_per_l(20.0, 1.01325), 5)
    0.04179
    """
    t = within("gas temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
    co2 = within("CO2 pressure", co2_bar_abs, 0.0, HIGHEST_CO2_BAR_ABS, "bar absolute")
    co2_atm = co2 / ATMOSPHERE_BAR
    energy = _GAS_CONSTANT * (t + 273.15)
    compressibility = 1.0 + second_virial_cm3_per_mol(t) * co2_atm / energy
    return co2_atm * 1000.0 / (compressibility * energy)


def henry_mol_per_l_atm(temperature_degc: float) -> float:
    """Solubility of CO2 in water at vanishing pressure, mol/(L atm); 0 to 45 degC.

    Raises OutsideRange. Source: Weiss 1974. [second-hand]

    >>> round(henry_mol_per_l_atm(25.0), 5)
    0.03397
    """
    t = within("drink temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
    hundreds = (t + 273.15) / 100.0
    return math.exp(-58.0931 + 90.5069 / hundreds + 22.2940 * math.log(hundreds))


def second_virial_cm3_per_mol(temperature_degc: float) -> float:
    """Second virial coefficient of CO2, cm3/mol; 0 to 45 degC.

    Raises OutsideRange. Source: Weiss 1974. [second-hand: one public code]

    >>> round(second_virial_cm3_per_mol(25.0), 1)
    -123.2
    """
    t = within("gas temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
    temperature_k = t + 273.15
    return (
        -1636.75
        + 12.0408 * temperature_k
        - 0.0327957 * temperature_k**2
        + 0.0000316528 * temperature_k**3
    )


def wine_factor(brix: float, abv_percent: float) -> float:
    """Dissolved CO2 as a fraction of that in water, by the European wine method.

    The strongest reduction of all published sources: the lower end, not the best guess.
    Made for wine at 20 degC; used here at every temperature, no source being at hand.

    Parameters
    ----------
    brix : g sugar per 100 g of drink, from the recipe and not from a refractometer, 0 to 18
    abv_percent : alcohol, % by volume, 0 to 15; spirits dissolve MORE than water

    Raises OutsideRange.

    Source: Regulation (EEC) 2676/90, CO2 from pressure at 20 degC. [second-hand]

    >>> round(wine_factor(brix=8.7, abv_percent=8.0), 2)
    0.79
    """
    sweet = within("sugar", brix, 0.0, HIGHEST_BRIX, "Brix")
    strong = within("alcohol", abv_percent, 0.0, HIGHEST_ABV_PERCENT, "% vol")
    return (0.86 - 0.01 * strong) / 0.86 * (1.0 - 0.00144 * sugar_g_per_l(sweet))


def drink_factor(brix: float, abv_percent: float) -> DrinkFactor:
    """What a sweet or alcoholic drink dissolves, as a fraction of what water dissolves.

    Published sources differ by ten per cent. All that were read lie between the wine method
    and plain water: beer charts, a measured lager, champagne. The best guess is the middle
    of those two. [project rule; no source gives one relation for mixed drinks]

    Parameters
    ----------
    brix : g sugar per 100 g of drink, from the recipe, 0 to 18
    abv_percent : alcohol, % by volume, 0 to 15

    Raises OutsideRange.

    >>> round(drink_factor(brix=8.7, abv_percent=8.0).best, 2)
    0.89
    """
    wine = wine_factor(brix, abv_percent)
    return DrinkFactor(
        best=(1.0 + wine) / 2.0,
        least=wine * (1.0 - WATER_UNCERTAINTY),
        most=1.0 + WATER_UNCERTAINTY,
    )


def carbonation(
    temperature_degc: float,
    gauge_bar: float,
    *,
    brix: float = 0.0,
    abv_percent: float = 0.0,
    altitude_m: float = 0.0,
) -> Carbonation:
    """Dissolved CO2 in a drink that has settled under a gauge pressure of pure CO2.

    Water: 3 %. Other drinks: between the two ends of the result.

    Parameters
    ----------
    temperature_degc : of the drink, 0 to 45
    gauge_bar : gauge, 0 to 5; no air in the head space
    brix : g sugar per 100 g of drink, from the recipe, 0 to 18; left out, plain water
    abv_percent : alcohol, % by volume, 0 to 15; left out, plain water
    altitude_m : of the bar, -500 to 4500; the same gauge reading holds less gas higher up

    Raises OutsideRange.

    Source: as `dissolved_mol_per_l` and `drink_factor`.

    >>> settled = carbonation(4.0, 2.0)
    >>> round(settled.volumes, 2), round(settled.g_per_l, 2)
    (4.3, 8.49)
    """
    gauge = within("gauge pressure", gauge_bar, 0.0, HIGHEST_GAUGE_BAR, "bar gauge")
    factor = drink_factor(brix, abv_percent)
    pressure = absolute_from_gauge_bar(gauge, standard_pressure_bar_abs(altitude_m))
    water = volumes_in_water(temperature_degc, pressure)
    volumes = factor.best * water
    return Carbonation(
        volumes=volumes,
        g_per_l=volumes * CO2_G_PER_VOLUME,
        least_volumes=factor.least * water,
        most_volumes=factor.most * water,
    )


def carbonation_pressure(
    temperature_degc: float,
    volumes: float,
    *,
    brix: float = 0.0,
    abv_percent: float = 0.0,
    altitude_m: float = 0.0,
) -> CarbonationPressure:
    """Gauge pressure of pure CO2 that holds the wanted carbonation at equilibrium.

    An end beyond 0 or 5 bar gauge is given as 0 or 5.

    Parameters
    ----------
    temperature_degc : of the drink, 0 to 45
    volumes : litres of CO2 (0 degC, 1 atm) in a litre of drink; what 0 and 5 bar gauge
        hold at this temperature are the ends of the range
    brix, abv_percent, altitude_m : as `carbonation`

    Raises OutsideRange.

    Source: as `carbonation`, turned round.

    >>> round(carbonation_pressure(4.0, 3.0).gauge_bar, 2)
    1.08
    """
    air = standard_pressure_bar_abs(altitude_m)
    factor = drink_factor(brix, abv_percent)
    none, most = _water_range(temperature_degc, air)
    within("carbonation", volumes, none * factor.best, most * factor.best, "volumes")
    return CarbonationPressure(
        gauge_bar=_gauge_holding(temperature_degc, volumes / factor.best, air),
        least_gauge_bar=_gauge_holding(temperature_degc, volumes / factor.most, air),
        most_gauge_bar=_gauge_holding(temperature_degc, volumes / factor.least, air),
    )


def volumes_in_water(temperature_degc: float, pressure_bar_abs: float) -> float:
    """Volumes of CO2 in water under an absolute pressure of CO2 and water vapour alone.

    Parameters
    ----------
    temperature_degc : 0 to 45
    pressure_bar_abs : absolute, total, at least the vapour pressure of water, up to 26

    Raises OutsideRange. Source: as `dissolved_mol_per_l`.

    >>> round(volumes_in_water(4.0, 3.01325), 2)
    4.3
    """
    co2 = co2_partial_pressure_bar_abs(temperature_degc, pressure_bar_abs)
    return CO2_L_PER_MOL * dissolved_mol_per_l(temperature_degc, co2)


def co2_partial_pressure_bar_abs(temperature_degc: float, pressure_bar_abs: float) -> float:
    """Share of CO2 in the absolute pressure over a drink, bar; no air.

    Raises OutsideRange when the pressure is below that of water vapour or above 26.

    >>> round(co2_partial_pressure_bar_abs(20.0, 1.01325), 4)
    0.9899
    """
    t = within("drink temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
    vapour = saturation_pressure_bar_abs(t)
    highest = HIGHEST_CO2_BAR_ABS
    return within("pressure", pressure_bar_abs, vapour, highest, "bar absolute") - vapour


def _water_range(temperature_degc: float, air_bar_abs: float) -> tuple[float, float]:
    """Volumes in water at the two ends of the gauge range."""
    return (
        volumes_in_water(temperature_degc, air_bar_abs),
        volumes_in_water(temperature_degc, air_bar_abs + HIGHEST_GAUGE_BAR),
    )


def _gauge_holding(temperature_degc: float, water_volumes: float, air_bar_abs: float) -> float:
    pressure = solve_rising(
        lambda bar_abs: volumes_in_water(temperature_degc, bar_abs),
        water_volumes,
        air_bar_abs,
        air_bar_abs + HIGHEST_GAUGE_BAR,
    )
    return gauge_from_absolute_bar(pressure, air_bar_abs)
