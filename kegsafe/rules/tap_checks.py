"""May this keg go on this line? Asked before it is tapped, answered with every reason at once."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from kegsafe.rules.facts import EquipmentHistory, House
from kegsafe.rules.fill_checks import metal_findings
from kegsafe.rules.findings import Finding, Severity, gravest_first


@dataclass(frozen=True, slots=True)
class TapPlan:
    """A keg somebody wants to join to a line. `drink_sources` is what the drink contains.

    `accepted` is a person's word that the line goes on as it is: not cleaned
    since its last drink, or with what that drink left.
    """

    line_in_use: bool
    line_metal: str
    history: EquipmentHistory
    drink: str
    measured_ph: Decimal | None
    drink_sources: frozenset[str]
    accepted: bool = False


def tap_checks(plan: TapPlan, house: House, on: date) -> tuple[Finding, ...]:
    """Return every finding about a planned tapping, gravest first; a stop means do not tap."""
    return gravest_first(
        [
            *_line_is_in_service(plan),
            *metal_findings(plan.history.name, plan.line_metal, plan.measured_ph, house, on),
            *_line_is_clean(plan),
        ]
    )


def _line_is_in_service(plan: TapPlan) -> Iterator[Finding]:
    if not plan.line_in_use:
        yield _finding(
            "line.out_of_service", Severity.STOP, f"{plan.history.name} is out of service."
        )


def _line_is_clean(plan: TapPlan) -> Iterator[Finding]:
    """The pour check asks the manager about an unclean line; so does tapping, beforehand."""
    history = plan.history
    severity = Severity.WARN if plan.accepted else Severity.STOP
    if history.cleaned_at is None:
        yield _finding(
            "line.not_cleaned", severity, f"No cleaning of {history.name} is on record. {_CLEAN}"
        )
    elif (
        history.previous_use_ended_at is not None
        and history.cleaned_at < history.previous_use_ended_at
    ):
        yield _finding(
            "line.not_cleaned",
            severity,
            f"{history.name} was not cleaned after it carried {history.previous_drink}. {_CLEAN}",
        )
    left = sorted(history.residue - plan.drink_sources)
    if left:
        yield _finding(
            "line.allergen_left",
            severity,
            f"{history.name} last carried {history.previous_drink or 'another drink'}, which left "
            f"{', '.join(left)}. No verified allergen clean is on record since.",
        )


_CLEAN = "Clean it and record the clean, or sign that it goes on as it is."


def _finding(rule: str, severity: Severity, statement: str) -> Finding:
    return Finding(rule, severity, statement, "Record of the equipment", "record")
