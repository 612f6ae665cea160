"""Ethanol in water: density, strength, and the strength of a blend by mass balance.

Volumes of alcohol and water do not add, masses do. A blend is therefore weighed, not
averaged: each part is split into its grams of ethanol, sugar and water, the grams are
summed, and the sum is turned back into a volume. Every volume and every % vol here is at
20 degC, the reference of European labels; US proof refers to 60 degF.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kegsafe.science import sugar
from kegsafe.science.bisection import solve_rising
from kegsafe.science.polynomial import polynomial
from kegsafe.science.ranges import OutsideRange, within
from kegsafe.science.tables import rows

FORMULA_UNCERTAINTY_KG_M3 = 0.02
BLEND_UNCERTAINTY_PERCENT_VOL = 0.5  # of a blend that nobody has measured. [house]
_TRACE_G = 1e-12  # less sugar than this is rounding, not sugar

# Terms of the formula in rising powers; the printed index is one more than the place.
_A = (
    998.20123,
    -192.9769495,
    389.1238958,
    -1668.103923,
    13522.15441,
    -88292.78388,
    306287.4042,
    -613838.1234,
    747017.2998,
    -547846.1354,
    223446.0334,
    -39032.85426,
)
_B = (
    -0.20618513,
    -0.0052682542,
    3.6130013e-05,
    -3.8957702e-07,
    7.169354e-09,
    -9.9739231e-11,
)
_C = (
    (
        0.1693443461530087,
        -10.46914743455169,
        71.96353469546523,
        -704.7478054272792,
        3924.090430035045,
        -12101.64659068747,
        22486.46550400788,
        -26055.62982188164,
        18523.73922069467,
        -7420.201433430137,
        1285.617841998974,
    ),
    (
        -0.0119301300505701,
        0.2517399633803461,
        -2.170575700536993,
        13.53034988843029,
        -50.29988758547014,
        109.635566657757,
        -142.2753946421155,
        108.043594285623,
        -44.14153236817392,
        7.442971530188783,
    ),
    (
        -0.0006802995733503803,
        0.01876837790289664,
        -0.2002561813734156,
        1.02299296671922,
        -2.895696483903638,
        4.810060584300675,
        -4.672147440794683,
        2.458043105903461,
        -0.5411227621436812,
    ),
    (
        4.075376675622027e-06,
        -8.76305857347111e-06,
        6.515031360099368e-06,
        -1.51578483698721e-06,
    ),
    (
        -2.788074354782409e-08,
        1.345612883493354e-08,
    ),
)


def density_kg_m3(mass_fraction: float, temperature_degc: float = 20.0) -> float:
    """Density of a mixture of ethanol and water, kg/m3.

    Good to 0.02 kg/m3 (`FORMULA_UNCERTAINTY_KG_M3`).

    Parameters
    ----------
    mass_fraction : grams of ethanol per gram of mixture, 0 to 1
    temperature_degc : -20 to 40; the formula does not know that weak mixtures freeze

    Raises OutsideRange.

    Source: OIML R 22 (1975) and Council Directive 76/766/EEC, annex, section 4. [range,
    counts of terms, A1-A5 and B1-B4 read; the other coefficients second-hand, checked
    against published tables at and away from 20 degC in the tests]

    >>> round(density_kg_m3(0.333, 20.0))
    948
    """
    p = within("mass fraction of ethanol", mass_fraction, 0.0, 1.0)
    warmth = within("temperature", temperature_degc, -20.0, 40.0, "degC") - 20.0
    crossed = [p * polynomial(terms, p) for terms in _C]
    return (
        polynomial(_A, p) + warmth * polynomial(_B, warmth) + warmth * polynomial(crossed, warmth)
    )


ETHANOL_KG_M3 = density_kg_m3(1.0, 20.0)  # printed as 789.24


def abv_from_mass_fraction(mass_fraction: float) -> float:
    """Strength in % vol at 20 degC of a mixture known by mass.

    Parameters
    ----------
    mass_fraction : grams of ethanol per gram of mixture, 0 to 1

    Raises OutsideRange. Source: as `density_kg_m3`; the definition is the directive's
    section 1. [read]

    >>> round(abv_from_mass_fraction(0.333), 2)
    40.0
    """
    return 100.0 * mass_fraction * density_kg_m3(mass_fraction) / ETHANOL_KG_M3


def mass_fraction_from_abv(abv_percent: float) -> float:
    """Grams of ethanol per gram of mixture, from the strength in % vol at 20 degC.

    Parameters
    ----------
    abv_percent : 0 to 100

    Raises OutsideRange. Source: `abv_from_mass_fraction`, turned round by bisection.

    >>> round(mass_fraction_from_abv(40.0), 3)
    0.333
    """
    target = within("strength", abv_percent, 0.0, 100.0, "% vol")
    if target in (0.0, 100.0):
        return target / 100.0
    return solve_rising(abv_from_mass_fraction, target, 0.0, 1.0)


def density_by_abv_kg_m3(abv_percent: float, temperature_degc: float = 20.0) -> float:
    """Density at any temperature of a spirit whose strength at 20 degC is known, kg/m3.

    Parameters
    ----------
    abv_percent : at 20 degC, 0 to 100; a drink without sugar
    temperature_degc : -20 to 40

    Raises OutsideRange. Source: as `density_kg_m3`.

    >>> round(density_by_abv_kg_m3(40.0, 5.0), 1)
    957.6
    """
    return density_kg_m3(mass_fraction_from_abv(abv_percent), temperature_degc)


def ethanol_g(volume_ml: float, abv_percent: float) -> float:
    """Grams of ethanol in a measure.

    Parameters
    ----------
    volume_ml : at 20 degC, 0 or more
    abv_percent : 0 to 100

    Raises OutsideRange. Source: density of ethanol at 20 degC, as `density_kg_m3`.

    >>> round(ethanol_g(150.0, 12.0), 2)
    14.21
    """
    volume = within("volume", volume_ml, 0.0, 1e9, "ml")
    strength = within("strength", abv_percent, 0.0, 100.0, "% vol")
    return volume * strength / 100.0 * ETHANOL_KG_M3 / 1000.0


def standard_drinks(volume_ml: float, abv_percent: float, place: str) -> float:
    """Number of standard drinks, or units, in a measure, as a place counts them.

    Parameters
    ----------
    volume_ml : at 20 degC, 0 or more
    abv_percent : 0 to 100
    place : as in science/standard_drinks.csv, such as "UK"

    Raises OutsideRange, and LookupError for a place without a row.

    Source: the row of the place.

    >>> round(standard_drinks(150.0, 12.0, "UK"), 2)
    1.8
    """
    row = next((row for row in rows("science/standard_drinks") if row["place"] == place), None)
    if row is None:
        raise LookupError(f"No standard drink is on file for {place!r}.")
    poured_g = ethanol_g(volume_ml, abv_percent)
    if row["ethanol_ml"]:
        return poured_g / (float(row["ethanol_ml"]) * ETHANOL_KG_M3 / 1000.0)
    return poured_g / float(row["ethanol_g"])


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a blend, as the bar measures it: a volume with its strength and sugar.

    Attributes
    ----------
    volume_ml : at 20 degC, 0 or more
    abv_percent : 0 to 100
    sugar_g_per_l : dissolved sugar counted as sucrose, from 0; 0 for a plain spirit
    """

    volume_ml: float
    abv_percent: float
    sugar_g_per_l: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a part that no bottle can hold; OutsideRange names what is wrong."""
        within("volume", self.volume_ml, 0.0, 1e9, "ml")
        within("strength", self.abv_percent, 0.0, 100.0, "% vol")
        strongest = sugar.sugar_g_per_l(sugar.HIGHEST_BRIX)
        within("sugar", self.sugar_g_per_l, 0.0, strongest, "g/l")


def syrup(volume_ml: float, brix: float) -> Part:
    """Part of a blend that is a syrup without alcohol.

    Parameters
    ----------
    volume_ml : at 20 degC, 0 or more
    brix : g sugar per 100 g syrup, 0 to 85

    Raises OutsideRange. Source: `sugar.density_kg_m3`.

    >>> round(syrup(500.0, 50.0).sugar_g_per_l)
    615
    """
    return Part(volume_ml, 0.0, sugar.sugar_g_per_l(brix))


@dataclass(frozen=True, slots=True)
class Blend:
    """What a blend comes to, at 20 degC.

    Attributes
    ----------
    volume_ml : of the finished blend
    abv_percent : strength, % vol
    mass_percent : grams of ethanol in 100 g of blend
    ethanol_g, sugar_g, water_g : its masses; sugar counted as sucrose
    contraction_ml : volume of the parts, dry sugar as nothing, less volume of the blend;
        negative if it grew
    """

    volume_ml: float
    abv_percent: float
    mass_percent: float
    ethanol_g: float
    sugar_g: float
    water_g: float
    contraction_ml: float

    @property
    def mass_g(self) -> float:
        """Mass of the blend in grams."""
        return self.ethanol_g + self.sugar_g + self.water_g

    @property
    def density_kg_m3(self) -> float:
        """Density of the blend in kg/m3."""
        return 1000.0 * self.mass_g / self.volume_ml

    @property
    def sugar_g_per_l(self) -> float:
        """Sugar in a litre of the blend, counted as sucrose."""
        return 1000.0 * self.sugar_g / self.volume_ml

    def poured(self, volume_ml: float) -> Part:
        """Take a measure of this blend as a part of the next one.

        Parameters
        ----------
        volume_ml : 0 or more; more than was blended is another batch of the same

        Raises OutsideRange.
        """
        sweetest = sugar.sugar_g_per_l(sugar.HIGHEST_BRIX)
        return Part(volume_ml, self.abv_percent, min(sweetest, self.sugar_g_per_l))


@dataclass(frozen=True, slots=True)
class _Masses:
    """Grams of what a liquid is made of."""

    ethanol_g: float
    sugar_g: float
    water_g: float

    @property
    def volume_ml(self) -> float:
        """Volume of ethanol and water together, and the room the sugar makes in the water."""
        unsweetened_g = self.ethanol_g + self.water_g
        if unsweetened_g == 0.0:
            return 0.0
        unsweetened_ml = 1000.0 * unsweetened_g / density_kg_m3(self.ethanol_g / unsweetened_g)
        return unsweetened_ml + sugar.room_of_sugar_ml(self.sugar_g, self.water_g)


def blend(parts: Sequence[Part], dry_sugar_g: float = 0.0) -> Blend:
    """Blend spirits, liqueurs, syrups, juices and water by mass balance.

    Ethanol and water follow the alcohol tables. Dissolved sugar takes the room it takes in
    the same water without alcohol; the contraction this leaves out stays below about 0.3 %
    of the volume up to 150 g/l of sugar. [memory] What else a juice holds counts as water.
    Until somebody measures it, the strength is an estimate to 0.5 % vol
    (`BLEND_UNCERTAINTY_PERCENT_VOL`); labels follow the bottle and the local rules.

    Parameters
    ----------
    parts : at least one, with some volume between them
    dry_sugar_g : sugar weighed in dry, all of it dissolved, from 0

    Raises OutsideRange when there is no volume, when a part claims more sugar and
    alcohol than fit into it, or when the dry sugar makes more than 85 Brix of the water.

    Source: mass balance with `density_kg_m3` here and in `sugar`.

    >>> round(blend([Part(1000.0, 40.0), Part(1000.0, 0.0)]).abv_percent, 2)
    20.01
    >>> round(blend([Part(500.0, 96.0), Part(500.0, 0.0)]).contraction_ml, 1)
    30.4
    """
    poured_ml = sum(part.volume_ml for part in parts)
    within("volume of the blend", poured_ml, 1e-9, 1e12, "ml")
    within("dry sugar", dry_sugar_g, 0.0, 1e9, "g")
    split = [_masses(part) for part in parts]
    together = _Masses(
        ethanol_g=sum(masses.ethanol_g for masses in split),
        sugar_g=dry_sugar_g + sum(masses.sugar_g for masses in split),
        water_g=sum(masses.water_g for masses in split),
    )
    total_g = together.ethanol_g + together.sugar_g + together.water_g
    ethanol_ml = 1000.0 * together.ethanol_g / ETHANOL_KG_M3
    return Blend(
        volume_ml=together.volume_ml,
        abv_percent=min(100.0, 100.0 * ethanol_ml / together.volume_ml),
        mass_percent=100.0 * together.ethanol_g / total_g,
        ethanol_g=together.ethanol_g,
        sugar_g=together.sugar_g,
        water_g=together.water_g,
        contraction_ml=poured_ml - together.volume_ml,
    )


def _masses(part: Part) -> _Masses:
    """Split a part into grams: strength gives the ethanol, and water fills up the volume."""
    alcohol_g = ethanol_g(part.volume_ml, part.abv_percent)
    sugar_g = part.volume_ml * part.sugar_g_per_l / 1000.0
    if sugar_g < _TRACE_G:
        fraction = mass_fraction_from_abv(part.abv_percent)
        total_g = part.volume_ml * density_kg_m3(fraction) / 1000.0
        return _Masses(alcohol_g, 0.0, max(0.0, total_g - alcohol_g))
    return _Masses(alcohol_g, sugar_g, _water_g(part, alcohol_g, sugar_g))


def _water_g(part: Part, alcohol_g: float, sugar_g: float) -> float:
    """Grams of water with which a sweet part fills its volume."""
    least_g = sugar_g * (100.0 / sugar.HIGHEST_BRIX - 1.0) * (1.0 + 1e-12)

    def volume_ml(water_g: float) -> float:
        return _Masses(alcohol_g, sugar_g, water_g).volume_ml

    if volume_ml(least_g) > part.volume_ml * (1.0 + 1e-9):
        most = sugar.sugar_g_per_l(sugar.HIGHEST_BRIX) * (1.0 - part.abv_percent / 100.0)
        raise OutsideRange("sugar beside so much alcohol", part.sugar_g_per_l, 0.0, most, "g/l")
    return solve_rising(volume_ml, part.volume_ml, least_g, least_g + 1.1 * part.volume_ml)
