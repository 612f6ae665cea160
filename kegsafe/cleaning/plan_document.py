"""A cleaning plan as it is kept in a record: whole, each bound and interval with its citation."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from kegsafe.rules.cleaning.guidance import Basis, Bound, Citation
from kegsafe.rules.cleaning.intervals import Every, Interval
from kegsafe.rules.cleaning.plans import Approval, Contact, Plan, PlanStep
from kegsafe.rules.cleaning.vocabulary import (
    Application,
    Chemistry,
    DrinkKind,
    Equipment,
    LimitFrom,
    StepKind,
    Verification,
)

Document = dict[str, Any]


def plan_document(plan: Plan) -> Document:
    """Return a plan as JSON that `plan_from` reads back without loss."""
    return {
        "key": plan.key,
        "name": plan.name,
        "equipment": plan.equipment.value,
        "drinks": sorted(plan.drinks),
        "steps": [_step_document(step) for step in plan.steps],
        "intervals": [_interval_document(interval) for interval in plan.intervals],
        "is_allergen_clean": plan.is_allergen_clean,
        "needs_second_person": plan.needs_second_person,
        "citation": _citation_document(plan.citation),
        "note": plan.note,
        "without_sanitising": _approval_document(plan.without_sanitising),
    }


def plan_from(document: Mapping[str, Any]) -> Plan:
    """Return the plan of a document."""
    return Plan(
        key=document["key"],
        name=document["name"],
        equipment=Equipment(document["equipment"]),
        drinks=frozenset(map(DrinkKind, document["drinks"])),
        steps=tuple(map(_step_from, document["steps"])),
        intervals=tuple(map(_interval_from, document["intervals"])),
        is_allergen_clean=document["is_allergen_clean"],
        needs_second_person=document["needs_second_person"],
        citation=_citation_from(document["citation"]),
        note=document["note"],
        # Plans that were stored before there were approvals have none.
        without_sanitising=_approval_from(document.get("without_sanitising")),
    )


def _approval_document(approval: Approval | None) -> Document | None:
    if approval is None:
        return None
    return {
        "authority": approval.authority,
        "reference": approval.reference,
        "approved_on": approval.approved_on.isoformat(),
        "reason": approval.reason,
    }


def _approval_from(document: Mapping[str, Any] | None) -> Approval | None:
    if document is None:
        return None
    day = date.fromisoformat(document["approved_on"])
    return Approval(**{**document, "approved_on": day})


def _step_document(step: PlanStep) -> Document:
    return {
        "position": step.position,
        "kind": step.kind.value,
        "instruction": step.instruction,
        "citation": _citation_document(step.citation),
        "chemistry": step.chemistry.value if step.chemistry else None,
        "strength_from": step.strength_from.value,
        "strength": _bound_document(step.strength),
        "temperature_from": step.temperature_from.value,
        "temperature": _bound_document(step.temperature),
        "contacts": [
            {"application": each.application.value, "bound": _bound_document(each.bound)}
            for each in step.contacts
        ],
        "flow": _bound_document(step.flow),
        "verification": step.verification.value,
        "ph_tolerance": _bound_document(step.ph_tolerance),
        "cautions": list(step.cautions),
    }


def _step_from(document: Mapping[str, Any]) -> PlanStep:
    chemistry = document["chemistry"]
    return PlanStep(
        position=document["position"],
        kind=StepKind(document["kind"]),
        instruction=document["instruction"],
        citation=_citation_from(document["citation"]),
        chemistry=Chemistry(chemistry) if chemistry else None,
        strength_from=LimitFrom(document["strength_from"]),
        strength=_bound_from(document["strength"]),
        temperature_from=LimitFrom(document["temperature_from"]),
        temperature=_bound_from(document["temperature"]),
        contacts=tuple(
            Contact(Application(each["application"]), _bound_from(each["bound"]))
            for each in document["contacts"]
        ),
        flow=_bound_from(document["flow"]),
        verification=Verification(document["verification"]),
        ph_tolerance=_bound_from(document["ph_tolerance"]),
        cautions=tuple(document["cautions"]),
    )


def _bound_document(bound: Bound | None) -> Document | None:
    if bound is None:
        return None
    return {
        "rule": bound.rule,
        "minimum": _text(bound.minimum),
        "maximum": _text(bound.maximum),
        "unit": bound.unit,
        "citation": _citation_document(bound.citation),
    }


def _bound_from(document: Mapping[str, Any] | None) -> Bound | None:
    if document is None:
        return None
    return Bound(
        document["rule"],
        _decimal(document["minimum"]),
        _decimal(document["maximum"]),
        document["unit"],
        _citation_from(document["citation"]),
    )


def _interval_document(interval: Interval) -> Document:
    return {
        "rule": interval.rule,
        "equipment": sorted(interval.equipment),
        "drinks": sorted(interval.drinks),
        "text": interval.text,
        "every": interval.every,
        "unit": interval.unit.value,
        "at_or_below_degc": _text(interval.at_or_below_degc),
        "jurisdiction": interval.jurisdiction,
        "citation": _citation_document(interval.citation),
        "note": interval.note,
    }


def _interval_from(document: Mapping[str, Any]) -> Interval:
    return Interval(
        rule=document["rule"],
        equipment=frozenset(map(Equipment, document["equipment"])),
        drinks=frozenset(map(DrinkKind, document["drinks"])),
        text=document["text"],
        every=document["every"],
        unit=Every(document["unit"]),
        at_or_below_degc=_decimal(document["at_or_below_degc"]),
        jurisdiction=document["jurisdiction"],
        citation=_citation_from(document["citation"]),
        note=document["note"],
    )


def _citation_document(citation: Citation) -> Document:
    return {
        "basis": citation.basis.value,
        "source": citation.source,
        "section": citation.section,
        "verified": citation.verified,
    }


def _citation_from(document: Mapping[str, Any]) -> Citation:
    return Citation(
        Basis(document["basis"]), document["source"], document["section"], document["verified"]
    )


def _text(value: Decimal | None) -> str | None:
    return None if value is None else str(value)


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
