"""What the last drink may have left in a line, beside the statement 'may contain'.

The bound may say that a rinse was not enough. It never says that a line is free of an
allergen, and never takes the statement away: film, dead legs and dried protein are outside it.
"""

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal

from kegsafe.rules.findings import Finding, Severity
from kegsafe.science.rinsing import line_carry_over, reference_dose_mg

_SOURCE = "Full mixing and plug flow of rinse water in a line; reference doses of {}"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRinse:
    """A line that carried an allergenic source and was rinsed. Volumes in ml.

    `protein_mg_per_ml` is that of the last drink, from the maker or a food table; `pour_ml`
    the largest pour sold.
    """

    source: str
    line_ml: Decimal
    protein_mg_per_ml: Decimal
    rinse_ml: Decimal
    pour_ml: Decimal


@dataclass(frozen=True, slots=True)
class CarryOverBound:
    """The most that the next glass takes by the model, and what it is measured by.

    `is_above_reference` is None where no reference dose is on file: not known, not fine.
    """

    in_one_glass_mg: Decimal
    reference_dose_mg: Decimal | None
    is_above_reference: bool | None
    finding: Finding


def carry_over(rinse: LineRinse, dose_set: str = "FAO/WHO") -> CarryOverBound:
    """Return the bound for one source, with a warning that stands whatever it says.

    Parameters
    ----------
    dose_set : "FAO/WHO" or "Belgium", as in science/allergen_reference_doses.csv

    Raises OutsideRange for a volume or a protein content that no bar has.
    """
    left = line_carry_over(
        float(rinse.line_ml),
        float(rinse.protein_mg_per_ml),
        float(rinse.rinse_ml),
        float(rinse.pour_ml),
    )
    in_one_glass = _milligrams(left.cautious_pour_mg)
    reference = reference_dose_mg(rinse.source, dose_set)
    above = None if reference is None else left.cautious_pour_mg >= reference
    finding = Finding(
        "cleaning.carry_over",
        Severity.WARN,
        f"May contain {rinse.source}. {_measured_by(in_one_glass, reference, above)} The statement "
        "stands until an allergen clean with its test is on record.",
        _SOURCE.format(dose_set),
        "second-hand",
        (
            ("left in the line if fully mixed", f"{in_one_glass} mg of protein"),
            ("rinse", f"{rinse.rinse_ml.normalize():f} ml"),
            ("line", f"{rinse.line_ml.normalize():f} ml"),
        ),
    )
    dose = None if reference is None else Decimal(str(reference))
    return CarryOverBound(in_one_glass, dose, above, finding)


def _measured_by(in_one_glass: Decimal, reference: float | None, above: bool | None) -> str:
    opening = f"By the model up to {in_one_glass} mg of its protein may reach one glass"
    if reference is None:
        return f"{opening}; no reference dose is on file to measure that by."
    if above:
        return f"{opening}: at or above the reference dose of {reference:g} mg. Rinse more."
    return (
        f"{opening}, below the reference dose of {reference:g} mg; film and dead legs can hold "
        "more."
    )


def _milligrams(value: float) -> Decimal:
    """Round up to what can be printed: a bound is never rounded down."""
    return Decimal(str(value)).quantize(Decimal("0.001"), ROUND_UP)
