"""What the last drink may have left in a line or a keg, beside the statement 'may contain'.

The bound may say that a rinse was not enough. It never says that a line is free of an
allergen, and never takes the statement away: film, dead legs and dried protein are outside it.
"""

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal

from kegsafe.rules.findings import Finding, Severity
from kegsafe.science.rinsing import (
    heel_after_rinses,
    heel_per_pour_mg,
    line_carry_over,
    reference_dose_mg,
)

_KEG_SOURCE = "A heel thinned by rinses and by the next fill; reference doses of {}"
_SOURCE = "Full mixing and plug flow of rinse water in a line; reference doses of {}"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRinse:
    """A line that carried an allergenic source and was rinsed. Volumes in ml.

    `protein_mg_per_ml` is that of the last drink, from the maker or a food table.
    """

    source: str
    line_ml: Decimal
    protein_mg_per_ml: Decimal
    rinse_ml: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class KegHeel:
    """A keg that held an allergenic source, with what stayed in it. Volumes in ml.

    `rinse_ml` is the water of each of its `rinses`, drained back to the heel; `keg_ml` what it
    is filled with next and `pour_ml` the largest pour sold of that.
    """

    source: str
    heel_ml: Decimal
    protein_mg_per_ml: Decimal
    rinse_ml: Decimal
    rinses: int
    keg_ml: Decimal
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
    """Return the bound for one source in a line, with a warning that stands whatever it says.

    All that full mixing leaves in the line is taken to come in one glass, however small.

    Parameters
    ----------
    dose_set : "FAO/WHO" or "Belgium", as in science/allergen_reference_doses.csv

    Raises OutsideRange for a volume or a protein content that no bar has.
    """
    left = line_carry_over(
        float(rinse.line_ml), float(rinse.protein_mg_per_ml), float(rinse.rinse_ml), 0.0
    )
    evidence = (
        ("left in the line if fully mixed", f"{_milligrams(left.cautious_pour_mg)} mg of protein"),
        ("if the rinse pushed like a piston", f"{_milligrams(left.plug_flow_mg)} mg of protein"),
        ("rinse", f"{rinse.rinse_ml.normalize():f} ml"),
        ("line", f"{rinse.line_ml.normalize():f} ml"),
    )
    return _bound(rinse.source, left.cautious_pour_mg, dose_set, _SOURCE, evidence)


def keg_carry_over(keg: KegHeel, dose_set: str = "FAO/WHO") -> CarryOverBound:
    """Return the bound for one source in a keg, with a warning that stands whatever it says.

    Each rinse thins the heel; what is left of it spreads through the next fill.

    Raises OutsideRange for a volume, a protein content or a count that no bar has.
    """
    content = heel_after_rinses(
        float(keg.heel_ml), float(keg.protein_mg_per_ml), float(keg.rinse_ml), keg.rinses
    )
    per_pour = heel_per_pour_mg(float(keg.heel_ml), content, float(keg.keg_ml), float(keg.pour_ml))
    evidence = (
        ("left in the keg", f"{_milligrams(float(keg.heel_ml) * content)} mg of protein"),
        ("heel", f"{keg.heel_ml.normalize():f} ml"),
        ("rinses", f"{keg.rinses} of {keg.rinse_ml.normalize():f} ml"),
        ("filled with", f"{keg.keg_ml.normalize():f} ml"),
    )
    return _bound(keg.source, per_pour, dose_set, _KEG_SOURCE, evidence)


def _bound(
    source: str,
    in_glass_mg: float,
    dose_set: str,
    model: str,
    evidence: tuple[tuple[str, str], ...],
) -> CarryOverBound:
    in_one_glass = _milligrams(in_glass_mg)
    reference = reference_dose_mg(source, dose_set)
    above = None if reference is None else in_glass_mg >= reference
    finding = Finding(
        "cleaning.carry_over",
        Severity.WARN,
        f"May contain {source}. {_measured_by(in_one_glass, reference, above)} The statement "
        "stands until an allergen clean with its test is on record.",
        model.format(dose_set),
        "second-hand",
        evidence,
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
    places = Decimal(1) if value >= 100 else Decimal("0.001")
    return Decimal(str(value)).quantize(places, ROUND_UP)
