"""Whether a drink declares sulphites: its amount of SO2 against the allergen list's threshold."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from kegsafe.rules.codes import Limit, LimitTable
from kegsafe.rules.findings import Finding, Severity

THRESHOLD = "sulphite.threshold"
COMPARISON = "sulphite.comparison"
COUNTS = "sulphite.counts"


@dataclass(frozen=True, slots=True)
class SulphiteAmount:
    """Total SO2 of a drink as it is served, in mg/l, and its density in kg/l.

    `mg_per_l` is None when it is unknown for any ingredient: sulphites are then declared.
    """

    mg_per_l: Decimal | None
    density_kg_per_l: Decimal | None = None

    @property
    def mg_per_kg(self) -> Decimal | None:
        """Return the amount by weight, or None while amount or density is not known."""
        if self.mg_per_l is None or self.density_kg_per_l is None:
            return None
        return self.mg_per_l / self.density_kg_per_l


@dataclass(frozen=True, slots=True)
class SulphiteVerdict:
    """Whether sulphites are declared, and why."""

    declared: bool
    finding: Finding


def sulphite_declared(
    code: LimitTable,
    so2_mg_per_l: Decimal | None,
    density_kg_per_l: Decimal | None,
    on: date,
) -> SulphiteVerdict:
    """Judge a drink's SO2 by a code, or by an allergen list, in force on a day.

    The amount is compared unrounded, by volume and (where the density is known) by weight:
    either one is enough. An unknown amount is declared. Where a list counts only added
    sulphites, the total stands in for them and can only be the larger.

    Raises MissingRule where the code has no threshold on that day, and ValueError for an
    amount below 0 or a density that is not above 0.
    """
    _check(so2_mg_per_l, density_kg_per_l)
    threshold = code.limit(THRESHOLD, on)
    amount = SulphiteAmount(so2_mg_per_l, density_kg_per_l)
    if so2_mg_per_l is None:
        return SulphiteVerdict(
            True,
            _finding(
                threshold,
                Severity.WARN,
                "Sulphites are declared: the SO2 of an ingredient is not known.",
                amount,
            ),
        )
    at_least = code.limit(COMPARISON, on).value == "at_least"
    reached = [
        each >= threshold.number if at_least else each > threshold.number
        for each in (so2_mg_per_l, amount.mg_per_kg)
        if each is not None
    ]
    return SulphiteVerdict(
        any(reached),
        _finding(
            threshold,
            _severity(amount, declared=any(reached)),
            _statement(code, amount, threshold, on, declared=any(reached)),
            amount,
        ),
    )


def _check(so2_mg_per_l: Decimal | None, density_kg_per_l: Decimal | None) -> None:
    if so2_mg_per_l is not None and not (so2_mg_per_l.is_finite() and so2_mg_per_l >= 0):
        raise ValueError(f"so2_mg_per_l must be 0 or more, got {so2_mg_per_l}.")
    if density_kg_per_l is not None and not (density_kg_per_l.is_finite() and density_kg_per_l > 0):
        raise ValueError(f"density_kg_per_l must be above 0, got {density_kg_per_l}.")


def _severity(amount: SulphiteAmount, *, declared: bool) -> Severity:
    """A drink lighter than water holds more per kilogram than per litre: say when not looked at."""
    seen_by_volume_only = amount.mg_per_kg is None and amount.mg_per_l != 0
    return Severity.WARN if seen_by_volume_only and not declared else Severity.NOTE


def _statement(
    code: LimitTable, amount: SulphiteAmount, threshold: Limit, on: date, *, declared: bool
) -> str:
    at_least = code.limit(COMPARISON, on).value == "at_least"
    limit = f"{threshold.number} mg/l or mg/kg"
    bound = f"{limit} or more" if at_least else f"more than {limit}"
    text = f"Sulphites are {'' if declared else 'not '}declared: {code.name} asks at {bound}."
    if code.limit(COUNTS, on).value == "added" and declared:
        text += " The list counts added sulphites; the total is taken for them."
    if _severity(amount, declared=declared) is Severity.WARN:
        text += " Compared by volume only: the density is not recorded."
    return text


def _finding(
    threshold: Limit, severity: Severity, statement: str, amount: SulphiteAmount
) -> Finding:
    by_volume, by_weight = amount.mg_per_l, amount.mg_per_kg
    return Finding(
        THRESHOLD,
        severity,
        statement,
        threshold.citation,
        threshold.verified,
        (
            ("total SO2", "not known" if by_volume is None else f"{by_volume:.2f} mg/l"),
            ("by weight", "not known" if by_weight is None else f"{by_weight:.2f} mg/kg"),
        ),
    )
