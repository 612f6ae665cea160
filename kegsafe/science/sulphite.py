"""Total sulphur dioxide of a blend, before any limit is looked at.

Which amount must be declared is a code's business and is decided in the rules. These
numbers are upper bounds: nothing is taken off for gassing off, oxidation or purging.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

from kegsafe.science.ranges import within

Salt = Literal["potassium metabisulphite", "sodium metabisulphite"]

HIGHEST_SO2_MG_PER_L = 10_000.0  # past any food; a larger number is a slip of the unit

# Two molecules of SO2 leave each molecule of the salt: 2 x 64.07 / 222.32 and / 190.11.
_SO2_MASS_FRACTION: Mapping[Salt, float] = MappingProxyType(
    {
        "potassium metabisulphite": 2 * 64.07 / 222.32,
        "sodium metabisulphite": 2 * 64.07 / 190.11,
    }
)


@dataclass(frozen=True, slots=True)
class SulphitePart:
    """One part of a drink and the total SO2 it brings.

    Attributes
    ----------
    volume_ml : 0 or more
    total_so2_mg_per_l : 0 to 10,000; None where nobody knows, never 0 for "not recorded"
    """

    volume_ml: float
    total_so2_mg_per_l: float | None

    def __post_init__(self) -> None:
        """Refuse a part that no drink can hold; OutsideRange names it."""
        within("volume", self.volume_ml, 0.0, 1e9, "ml")
        if self.total_so2_mg_per_l is not None:
            within("total SO2", self.total_so2_mg_per_l, 0.0, HIGHEST_SO2_MG_PER_L, "mg/l")


def total_so2_mg_per_l(parts: Sequence[SulphitePart]) -> float | None:
    """Total SO2 of the drink these parts make, mg/l; None if any part is unknown.

    The parts must be the drink as it is served: soda, water and melted ice belong to them.
    The sum is done in exact fractions, so that a drink of exactly 10 mg/l gives 10.0 and
    falls on the right side of a limit that reads "more than" or "at least".

    Parameters
    ----------
    parts : at least one, with some volume between them

    Raises OutsideRange when there is no volume.

    Source: mass balance; ignoring losses is a house choice, on the side of declaring.

    >>> total_so2_mg_per_l([SulphitePart(20, 90), SulphitePart(140, 0)])
    11.25
    >>> total_so2_mg_per_l([SulphitePart(20, 90), SulphitePart(140, None)]) is None
    True
    """
    total_ml = sum((_as_written(part.volume_ml) for part in parts), Fraction(0))
    within("volume of the drink", float(total_ml), 1e-9, 1e12, "ml")
    dissolved = Fraction(0)
    for part in parts:
        if part.total_so2_mg_per_l is None:
            if part.volume_ml > 0:
                return None
            continue
        dissolved += _as_written(part.volume_ml) * _as_written(part.total_so2_mg_per_l)
    return float(dissolved / total_ml)


def so2_mg_from_salt(salt_mg: float, salt: Salt) -> float:
    """Milligrams of SO2 that a weighed metabisulphite brings when all of it counts.

    Parameters
    ----------
    salt_mg : 0 to 1e9
    salt : which of the two salts

    Raises OutsideRange, and KeyError for a salt not listed.

    Source: molar masses SO2 64.07, K2S2O5 222.32, Na2S2O5 190.11 g/mol. [computed]

    >>> round(so2_mg_from_salt(100.0, "potassium metabisulphite"), 1)
    57.6
    """
    return within("mass of salt", salt_mg, 0.0, 1e9, "mg") * _SO2_MASS_FRACTION[salt]


def mg_per_kg(mg_per_l: float, density_kg_m3: float) -> float:
    """Turn mg/l into mg/kg.

    Parameters
    ----------
    mg_per_l : 0 or more
    density_kg_m3 : of the drink, 700 to 1500

    Raises OutsideRange.

    >>> round(mg_per_kg(9.8, 960.0), 2)
    10.21
    """
    density = within("density", density_kg_m3, 700.0, 1500.0, "kg/m3")
    return 1000.0 * within("content", mg_per_l, 0.0, 1e6, "mg/l") / density


def mg_per_l(content_mg_per_kg: float, density_kg_m3: float) -> float:
    """Turn mg/kg into mg/l.

    Parameters
    ----------
    content_mg_per_kg : 0 or more
    density_kg_m3 : of the drink, 700 to 1500

    Raises OutsideRange.

    >>> mg_per_l(10.0, 960.0)
    9.6
    """
    density = within("density", density_kg_m3, 700.0, 1500.0, "kg/m3")
    return within("content", content_mg_per_kg, 0.0, 1e6, "mg/kg") * density / 1000.0


def _as_written(number: float) -> Fraction:
    """Read a float as the decimal somebody wrote: 0.1 is one tenth, not the nearest binary."""
    return Fraction(str(number))
