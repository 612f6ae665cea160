"""Builders of cleaning facts: a cycle that counts, and chemicals whose labels are on record."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from kegsafe.rules.cleaning.chemicals import ChemicalFacts
from kegsafe.rules.cleaning.limits import Active, Use
from kegsafe.rules.cleaning.plans import Plan, PlanStep, plans
from kegsafe.rules.cleaning.readings import Means, Reading
from kegsafe.rules.cleaning.records import CycleFacts, RecordedStep
from kegsafe.rules.cleaning.sanitising import Solution
from kegsafe.rules.cleaning.vocabulary import Application, Chemistry, StepKind, Verification

ZONE = ZoneInfo("Europe/London")
DAY = date(2026, 4, 14)
BEGAN = datetime(2026, 4, 14, 8, 0, tzinfo=UTC)
FOOD_CODE = "us_fda_2022"


def d(value: object) -> Decimal:
    return Decimal(str(value))


def at(value: object) -> Reading:
    """A reading of one value."""
    return Reading.point(d(value))


def band(lowest: object, highest: object) -> Reading:
    """A strip's colour between two blocks; None past the last one."""
    return Reading(d(lowest), None if highest is None else d(highest), Means.STRIP)


def a_sanitiser(active: Active = Active.CHLORINE, **label: object) -> ChemicalFacts:
    """A sanitiser whose label allows whatever the code does, so that the code decides."""
    facts = {
        "name": "Sanitiser",
        "chemistry": Chemistry.SANITISER,
        "active": active,
        "is_listed": True,
        "batch": "S1",
        "expires_on": date(2027, 1, 1),
        "label_at_least_mg_per_l": d(1),
        "label_at_most_mg_per_l": d(5000),
        "label_contact_s": d(1),
        "needs_rinse": False,
    }
    return ChemicalFacts(**{**facts, **label})


def a_cleaner(chemistry: Chemistry = Chemistry.ALKALINE, **label: object) -> ChemicalFacts:
    facts = {
        "name": "Line cleaner",
        "chemistry": chemistry,
        "is_listed": True,
        "batch": "C1",
        "expires_on": date(2027, 1, 1),
        "label_at_least_mg_per_l": d(10_000),
        "label_at_most_mg_per_l": d(40_000),
        "label_contact_s": d(600),
        "label_at_least_degc": d(15),
        "label_at_most_degc": d(60),
        "needs_rinse": True,
    }
    return ChemicalFacts(**{**facts, **label})


def a_solution(active: Active = Active.CHLORINE, **measured: object) -> Solution:
    """A solution in the middle of its row, drained and not rinsed."""
    facts = {
        "chemical": a_sanitiser(active),
        "strength": at(150),
        "temperature_degc": d(25),
        "ph": at(7),
        "hardness_mg_per_l": d(100),
        "contact_s": d(60),
        "use": Use.IMMERSION,
        "is_rinsed_after": False,
    }
    return Solution(**{**facts, **measured})


def a_cycle(plan: str = "line.sweet", **changes: object) -> CycleFacts:
    """A whole cycle under a starter plan, one step after the other, all in limits."""
    facts = CycleFacts(
        recorded=tuple(_steps(plans()[plan])),
        operator="Ana",
        verified_by="Ben",
    )
    return replace(facts, **changes)


def _steps(plan: Plan) -> Iterator[RecordedStep]:
    now = BEGAN
    for step in plan.steps:
        ended = now + timedelta(minutes=25)
        yield _step(step, now, ended)
        now = ended


def _step(step: PlanStep, began: datetime, ended: datetime) -> RecordedStep:
    recorded = RecordedStep(position=step.position, started_at=began, ended_at=ended)
    if step.kind is StepKind.DETERGENT:
        recorded = replace(
            recorded,
            chemical=a_cleaner(step.chemistry or Chemistry.ALKALINE),
            strength=at(25_000),
            temperature_degc=d(35),
            flow_l_min=d(4),
            application=step.contacts[0].application,
        )
    if step.kind is StepKind.SANITISE:
        recorded = replace(
            recorded,
            chemical=a_sanitiser(),
            strength=at(150),
            temperature_degc=d(20),
            ph=at(7),
            application=step.contacts[0].application,
        )
    if step.verification is Verification.TAP_WATER_PH:
        recorded = replace(recorded, tap_water_ph=at("7.4"), outlet_ph=(at("7.6"),))
    if step.verification in (Verification.LOOKED_AT, Verification.ALLERGEN_TEST):
        recorded = replace(recorded, passed=True)
    return recorded


def changed(facts: CycleFacts, position: int, **changes: object) -> CycleFacts:
    """The cycle with one step recorded otherwise."""
    return replace(
        facts,
        recorded=tuple(
            replace(step, **changes) if step.position == position else step
            for step in facts.recorded
        ),
    )


def without(facts: CycleFacts, position: int) -> CycleFacts:
    """The cycle with one step not recorded."""
    return replace(
        facts, recorded=tuple(step for step in facts.recorded if step.position != position)
    )


SOAKED = Application.SOAKED
