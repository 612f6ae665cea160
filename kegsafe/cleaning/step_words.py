"""The steps of a cycle in words, in the order an inspector reads: page, table and print alike."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from kegsafe.cleaning.models import Cycle, CycleStep
from kegsafe.cleaning.readings_document import reading_from
from kegsafe.rules.cleaning.guidance import amount
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.readings import Means

_MEANS = {Means.DOSED: "as dosed", Means.STRIP: "strip", Means.TITRATION: "titration"}


@dataclass(frozen=True, slots=True)
class StepRow:
    """One attempt, as texts; an empty text is not recorded or not asked for."""

    name: str
    began_at: datetime | None
    ended_at: datetime | None
    chemical: str
    strength: str
    temperature: str
    contact: str
    proof: str
    by: str


def step_rows(cycle: Cycle) -> list[StepRow]:
    """Return the attempts of a cycle in the order they were stored; its steps are fetched."""
    plan = cycle.plan.as_rules()
    steps = {step.position: step for step in plan.steps}
    return [_row(each, steps.get(each.position)) for each in cycle.steps.all()]


def _row(step: CycleStep, planned: PlanStep | None) -> StepRow:
    recorded = step.as_recorded()
    facts = recorded.chemical
    contact = recorded.contact_s
    temperature = recorded.temperature_degc
    return StepRow(
        name=planned.name if planned else f"step {step.position}",
        began_at=step.started_at,
        ended_at=step.ended_at,
        chemical=f"{facts.name}, batch {facts.batch}" if facts and facts.batch
        else (facts.name if facts else ""),
        strength=_strength(step),
        temperature="" if temperature is None else f"{temperature.normalize():f} °C",
        contact="" if contact is None else amount(contact, "s"),
        proof="; ".join(_proofs(step)),
        by=step.ended_by or step.recorded_by,
    )  # fmt: skip


def _strength(step: CycleStep) -> str:
    reading = reading_from(step.strength)
    if reading is None:
        return ""
    means = _MEANS.get(reading.means, "")
    return f"{reading.in_words('mg/l')} ({means})" if means else reading.in_words("mg/l")


def _proofs(step: CycleStep) -> Iterator[str]:
    """Yield what was read or seen that proves the step."""
    if (own := reading_from(step.ph)) is not None:
        yield f"solution {own.in_words('pH')}"
    if (tap := reading_from(step.tap_water_ph)) is not None:
        yield f"tap water {tap.in_words('pH')}"
    outlets = [reading for reading in map(reading_from, step.outlet_ph) if reading is not None]
    if outlets:
        yield "rinse water " + ", ".join(reading.in_words("pH") for reading in outlets)
    if step.hardness_mg_per_l is not None:
        yield f"hardness {amount(step.hardness_mg_per_l, 'mg/l')}"
    if step.flow_l_min is not None:
        yield f"flow {amount(step.flow_l_min, 'l/min')}"
    if step.passed is not None:
        yield "passed" if step.passed else "did not pass"
