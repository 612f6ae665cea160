"""Water activity of syrups, brines and sweet drinks: an estimate that may only warn.

A claim that a drink lies at or below some water activity needs an instrument. Two
published mixing rules are computed and the larger, less flattering value wins. Ethanol
earns nothing: the activity of water beside ethanol is higher than its mole fraction, so
ethanol is counted here as though it were water. An unknown syrup is best taken for
sucrose, which lowers the activity least.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from kegsafe.science.ranges import OutsideRange, within
from kegsafe.science.tables import rows

WATER_G_MOL = 18.015
HIGHEST_SOLIDS_PERCENT = 70.0
HIGHEST_SALT_MOL_PER_KG = 6.0
MIXTURE_BAND = 0.02

# Error bar of plain sucrose up to each Brix, from the checks against osmotic coefficients.
_SUCROSE_BANDS = ((50.0, 0.003), (60.0, 0.005), (70.0, 0.01))

# Pitzer's equation for sodium chloride at 25 degC: Debye-Hueckel slope and three constants.
_SALT_SLOPE, _SALT_B0, _SALT_B1, _SALT_C = 0.3915, 0.0765, 0.2664, 0.00127
SALT = "sodium chloride"
SALT_G_MOL = 58.44


@dataclass(frozen=True, slots=True)
class Estimate:
    """A computed water activity and how far it may be off.

    Attributes
    ----------
    value : 0 to 1, at 20 to 30 degC
    plus_or_minus : error bar on the value
    """

    value: float
    plus_or_minus: float

    @property
    def highest(self) -> float:
        """The value a cautious reader works with."""
        return min(1.0, self.value + self.plus_or_minus)


def of_sucrose(brix: float) -> Estimate:
    """Water activity of a sucrose syrup at 20 to 30 degC.

    A sucrose syrup meets 0.85 only at 67.1 Brix, the most that water holds at 20 degC; if
    crystals fall out, the liquid above them is back at about 0.86.

    Parameters
    ----------
    brix : g sucrose per 100 g syrup, 0 to 70

    Raises OutsideRange.

    Source: Norrish's equation with K = 6.47. [form read in Baeza et al. 2010, Food
    Bioprocess Technol. 3:87-92, abstract; K from memory, confirmed in the tests]

    >>> round(of_sucrose(50.0).value, 3), of_sucrose(50.0).plus_or_minus
    (0.935, 0.003)
    """
    strength = within("strength of syrup", brix, 0.0, HIGHEST_SOLIDS_PERCENT, "Brix")
    band = next(width for up_to, width in _SUCROSE_BANDS if strength <= up_to)
    return Estimate(norrish("sucrose", strength), band)


def norrish(solute: str, mass_percent: float) -> float:
    """Water activity of one sugar or polyol in water: aw = Xw exp(-K Xs^2).

    Parameters
    ----------
    solute : as in science/norrish_constants.csv
    mass_percent : grams of solute in 100 g of solution, 0 to 70

    Raises OutsideRange, and LookupError for a solute without a constant.

    Source: Norrish's equation; the constants carry their source in the table.

    >>> round(norrish("glycerol", 20.0), 3)
    0.951
    """
    solids = within(f"share of {solute}", mass_percent, 0.0, HIGHEST_SOLIDS_PERCENT, "% by mass")
    return _norrish_mixture({solute: solids}, 100.0 - solids)


def of_salt(salt_mol_per_kg: float) -> float:
    """Water activity of sodium chloride in water at 25 degC.

    Parameters
    ----------
    salt_mol_per_kg : moles of salt per kilogram of water, 0 to 6

    Raises OutsideRange.

    Source: Pitzer and Mayorga 1973, J. Phys. Chem. 77:2300. [constants from memory; checked
    in the tests against a geochemistry library, a quoted table and freezing points]

    >>> round(of_salt(6.0), 2)
    0.76
    """
    m = within("salt", salt_mol_per_kg, 0.0, HIGHEST_SALT_MOL_PER_KG, "mol/kg water")
    root = math.sqrt(m)
    osmotic_coefficient = (
        1.0
        - _SALT_SLOPE * root / (1.0 + 1.2 * root)
        + m * (_SALT_B0 + _SALT_B1 * math.exp(-2.0 * root))
        + m * m * _SALT_C
    )
    return math.exp(-2.0 * osmotic_coefficient * m * WATER_G_MOL / 1000.0)


def of_mixture(solutes_g: Mapping[str, float], water_g: float, ethanol_g: float = 0.0) -> Estimate:
    """Water activity of sugars, polyols and salt together at 20 to 30 degC.

    Parameters
    ----------
    solutes_g : grams of each solute; sugars and polyols as in science/norrish_constants.csv,
        and "sodium chloride"
    water_g : grams of water, more than 0
    ethanol_g : grams of ethanol, 0 or more; counted as water, so that it earns no credit

    Raises OutsideRange above 70 % of solids by mass or 6 mol/kg of salt, and LookupError
    for a solute without a constant.

    Source: the larger of Ross's product and Norrish's mixture rule; salt joins by Ross's
    product. [memory; the choice of the larger is a house rule] The two rules differ by up
    to 0.015 at 60 Brix, hence the error bar of 0.02.

    >>> round(of_mixture({"glucose": 250.0, "fructose": 250.0}, 500.0).value, 3)
    0.898
    """
    solvent_g = _solvent_g(solutes_g, water_g, ethanol_g)
    sweet = {name: grams for name, grams in solutes_g.items() if name != SALT}
    ross = math.prod(_norrish_mixture({name: g}, solvent_g) for name, g in sweet.items())
    together = _norrish_mixture(sweet, solvent_g)
    salt_mol_per_kg = 1000.0 * solutes_g.get(SALT, 0.0) / SALT_G_MOL / solvent_g
    return Estimate(max(ross, together) * of_salt(salt_mol_per_kg), MIXTURE_BAND)


def _solvent_g(solutes_g: Mapping[str, float], water_g: float, ethanol_g: float) -> float:
    """Water and ethanol together, once every mass has been looked at."""
    for name, grams in solutes_g.items():
        within(f"mass of {name}", grams, 0.0, 1e9, "g")
    solvent_g = within("mass of water", water_g, 1e-6, 1e9, "g")
    solvent_g += within("mass of ethanol", ethanol_g, 0.0, 1e9, "g")
    solids_g = sum(solutes_g.values())
    solids_percent = 100.0 * solids_g / (solids_g + solvent_g)
    if solids_percent > HIGHEST_SOLIDS_PERCENT + 1e-9:
        raise OutsideRange(
            "share of solids", solids_percent, 0.0, HIGHEST_SOLIDS_PERCENT, "% by mass"
        )
    return solvent_g


def _norrish_mixture(solutes_g: Mapping[str, float], solvent_g: float) -> float:
    """Norrish's rule for several solutes: ln aw = ln Xw - (sum of sqrt(K) X)^2."""
    constants = {name: _constants(name) for name in solutes_g}
    moles = {name: grams / constants[name][1] for name, grams in solutes_g.items()}
    solvent_mol = solvent_g / WATER_G_MOL
    total_mol = solvent_mol + sum(moles.values())
    pull = sum(math.sqrt(constants[name][0]) * mol / total_mol for name, mol in moles.items())
    return solvent_mol / total_mol * math.exp(-pull * pull)


@cache
def _constants(solute: str) -> tuple[float, float]:
    """Norrish's K and the molar mass in g/mol of a solute."""
    for row in rows("science/norrish_constants"):
        if row["solute"] == solute:
            return float(row["k"]), float(row["molar_mass_g_mol"])
    raise LookupError(f"No Norrish constant is on file for {solute!r}.")
