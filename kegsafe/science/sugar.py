"""Sucrose syrups: how heavy, how sweet by the litre, and how much sugar water can hold.

Everything here is for sucrose in water and nothing else. A refractometer in a drink that
holds alcohol reads neither sugar nor alcohol, and its number must not be put in here.
"""

from functools import cache
from itertools import pairwise

from kegsafe.science.bisection import solve_rising
from kegsafe.science.polynomial import polynomial
from kegsafe.science.ranges import OutsideRange, within
from kegsafe.science.tables import rows

HIGHEST_BRIX = 85.0
DENSITY_UNCERTAINTY_KG_M3 = 0.2  # up to 60 Brix at 20 degC, against the CRC Handbook

# Terms of the density formula: one row for each power of (t - 20)/100, each in rising
# powers of the mass fraction from the first power on.
_TERMS = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)
_WATER = (
    999.83952,
    16.952577,
    -7.9905127e-3,
    -46.241757e-6,
    105.84601e-9,
    -281.03006e-12,
)


def water_density_kg_m3(temperature_degc: float) -> float:
    """Density of air-free water at atmospheric pressure, kg/m3.

    Parameters
    ----------
    temperature_degc : 0 to 80

    Raises OutsideRange.

    Source: the water term of the ICUMSA density formula. [second-hand; checked against
    IAPWS-95 in the tests]

    >>> round(water_density_kg_m3(20.0), 2)
    998.2
    """
    t = within("temperature", temperature_degc, 0.0, 80.0, "degC")
    return polynomial(_WATER, t) / (1.0 + 16.887236e-3 * t)


def density_kg_m3(brix: float, temperature_degc: float = 20.0) -> float:
    """Density of a sucrose syrup, kg/m3.

    Good to 0.2 kg/m3 up to 60 Brix (`DENSITY_UNCERTAINTY_KG_M3`) and to 0.1 % beyond.

    Parameters
    ----------
    brix : g sucrose per 100 g solution, 0 to 85
    temperature_degc : 0 to 80

    Raises OutsideRange.

    Source: ICUMSA SPS-4 density polynomial. [second-hand: two independent public codes
    that agree; the standard itself was not read; the range is from memory]

    >>> round(density_kg_m3(50.0), 1)
    1229.7
    """
    w = within("strength of syrup", brix, 0.0, HIGHEST_BRIX, "Brix") / 100.0
    warmth = (within("temperature", temperature_degc, 0.0, 80.0, "degC") - 20.0) / 100.0
    excess = [w * polynomial(terms, w) for terms in _TERMS]
    return water_density_kg_m3(temperature_degc) + polynomial(excess, warmth)


def sugar_g_per_l(brix: float, temperature_degc: float = 20.0) -> float:
    """Grams of sucrose in a litre of syrup.

    Parameters
    ----------
    brix : g sucrose per 100 g solution, 0 to 85
    temperature_degc : of the litre, 0 to 80

    Raises OutsideRange. Source: as `density_kg_m3`.

    >>> round(sugar_g_per_l(50.0), 1)
    614.8
    """
    return brix / 100.0 * density_kg_m3(brix, temperature_degc)


def brix_from_sugar_g_per_l(sugar_g_per_l_at_20: float) -> float:
    """Brix of the syrup that holds so many grams of sucrose in a litre at 20 degC.

    Parameters
    ----------
    sugar_g_per_l_at_20 : 0 to 1228, the content of the strongest syrup the formula covers

    Raises OutsideRange. Source: as `density_kg_m3`.

    >>> round(brix_from_sugar_g_per_l(103.81), 2)
    10.0
    """
    strongest = sugar_g_per_l(HIGHEST_BRIX)
    target = within("sugar", sugar_g_per_l_at_20, 0.0, strongest, "g/l")
    return solve_rising(sugar_g_per_l, target, 0.0, HIGHEST_BRIX)


def brix_by_mass(sugar_g: float, water_g: float) -> float:
    """Brix of a syrup made from weighed sugar and weighed water.

    Only scales give a ratio by mass: a cup of sugar to a cup of water is far from 1:1.

    Parameters
    ----------
    sugar_g, water_g : 0 or more, in the same unit, not both 0

    Raises OutsideRange, also for a syrup stronger than 85 Brix.

    >>> brix_by_mass(1000.0, 1000.0)
    50.0
    """
    within("sugar", sugar_g, 0.0, 1e9, "g")
    within("water", water_g, 0.0, 1e9, "g")
    if sugar_g + water_g == 0.0:
        raise OutsideRange("sugar and water together", 0.0, 1e-9, 2e9, "g")
    brix = 100.0 * (sugar_g / (sugar_g + water_g))
    return within("strength of syrup", brix, 0.0, HIGHEST_BRIX, "Brix")


def volume_l(mass_kg: float, brix: float, temperature_degc: float = 20.0) -> float:
    """Litres that a weighed syrup fills.

    Parameters
    ----------
    mass_kg : 0 to 1,000,000
    brix : 0 to 85
    temperature_degc : 0 to 80

    Raises OutsideRange. Source: as `density_kg_m3`.

    >>> round(volume_l(2.0, 50.0), 3)
    1.626
    """
    mass = within("mass", mass_kg, 0.0, 1e6, "kg")
    return 1000.0 * mass / density_kg_m3(brix, temperature_degc)


def room_of_sugar_ml(sugar_g: float, water_g: float) -> float:
    """Millilitres by which dissolved sucrose makes its water larger at 20 degC.

    Parameters
    ----------
    sugar_g, water_g : 0 or more; no more sugar than makes 85 Brix

    Raises OutsideRange. Source: as `density_kg_m3`.

    >>> round(room_of_sugar_ml(500.0, 500.0), 1)
    312.3
    """
    if sugar_g == 0.0:
        return 0.0
    solution_ml = 1000.0 * (sugar_g + water_g) / density_kg_m3(brix_by_mass(sugar_g, water_g))
    return solution_ml - 1000.0 * water_g / water_density_kg_m3(20.0)


def solubility_brix(temperature_degc: float) -> float:
    """Brix of a syrup that holds all the sucrose it can; above it, crystals come in time.

    Between the rows of the table the line is straight; outside them there is no number.

    Parameters
    ----------
    temperature_degc : 0 to 50, the rows of science/sucrose_solubility.csv

    Raises OutsideRange.

    Source: Antokolskaya et al. 1964 in Mohos, Confectionery and Chocolate Engineering
    (2010), table A2.2. [read]

    >>> round(solubility_brix(20.0), 1)
    67.1
    """
    curve = _solubility_curve()
    t = within("temperature", temperature_degc, curve[0][0], curve[-1][0], "degC")
    (cold, less), (warm, more) = next(pair for pair in pairwise(curve) if t <= pair[1][0])
    return less + (more - less) * (t - cold) / (warm - cold)


@cache
def _solubility_curve() -> tuple[tuple[float, float], ...]:
    """Temperature in degC and Brix of each published row, cold to warm."""
    table = rows("science/sucrose_solubility")
    return tuple(sorted((float(row["temperature_degc"]), float(row["brix"])) for row in table))
