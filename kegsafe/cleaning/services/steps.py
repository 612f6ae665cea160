"""Recording the steps of a cycle: begun, ended, or both at once. Nothing sent is thrown away."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cleaning.models import ChemicalBatch, Cycle, CycleStep
from kegsafe.cleaning.readings_document import reading_document
from kegsafe.cleaning.services.line_events import store_event
from kegsafe.ledger.services import Recorder, create, record, take_turn
from kegsafe.rules.cleaning.line_state import LineEventKind
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.cleaning.rinse_proof import is_rinse_verified
from kegsafe.rules.cleaning.vocabulary import StepKind, Verification

_GOES_IN = {
    StepKind.DETERGENT: LineEventKind.DETERGENT_IN,
    StepKind.SANITISE: LineEventKind.SANITISER_IN,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What was used and read in one step, as `RecordedStep` takes it; None is not recorded."""

    chemical: ChemicalBatch | None = None
    is_hot_water: bool = False
    application: str = ""
    strength: Reading | None = None
    temperature_degc: Decimal | None = None
    ph: Reading | None = None
    hardness_mg_per_l: Decimal | None = None
    flow_l_min: Decimal | None = None
    tap_water_ph: Reading | None = None
    outlet_ph: tuple[Reading, ...] = ()
    passed: bool | None = None
    typed: Mapping[str, str] = field(default_factory=dict)


@transaction.atomic
def begin_step(
    *,
    cycle: Cycle,
    position: int,
    client_id: uuid.UUID,
    by: Recorder,
    started_at: datetime | None = None,
    chemical: ChemicalBatch | None = None,
    is_hot_water: bool = False,
    application: str = "",
) -> CycleStep:
    """Store that a step began, before anything goes in. Sent again, it stores nothing more."""
    take_turn(by)
    if (sent_before := CycleStep.objects.filter(client_id=client_id).first()) is not None:
        return sent_before
    cycle = _taken_up(cycle, by)
    plan_step = _plan_step(cycle, position)
    step = CycleStep(
        cycle=cycle,
        position=position,
        client_id=client_id,
        started_at=_past(started_at, "started_at"),
        recorded_by=by.person,
        **_used(cycle, chemical, is_hot_water, application),
    )
    return _stored(step, plan_step, "began", by)


@transaction.atomic
def end_step(
    *,
    step: CycleStep,
    end_id: uuid.UUID,
    measured: Measured,
    by: Recorder,
    ended_at: datetime | None = None,
    seen: int | None = None,
) -> CycleStep:
    """Store that a step ended, with what was read.

    Sent again, it stores nothing more. Where another phone has ended it meanwhile, this is
    stored as a further attempt: both stay, and the last one counts.
    """
    take_turn(by)
    if (sent_before := _ended_before(end_id)) is not None:
        return sent_before
    step = CycleStep.objects.select_for_update(of=("self",)).get(pk=step.pk)
    step.cycle = _taken_up(step.cycle, by)
    is_taken = step.ended_at is not None
    if is_taken:
        step = CycleStep(
            cycle=step.cycle,
            position=step.position,
            client_id=end_id,
            started_at=step.started_at,
            application=step.application,
            chemical=step.chemical,
            is_hot_water=step.is_hot_water,
            recorded_by=by.person,
        )
    _write_end(step, end_id, _past(ended_at, "ended_at"), measured, by)
    _save_end(step, is_new=is_taken, by=by)
    _after_the_end(step, _plan_step(step.cycle, step.position), seen, by)
    return step


@transaction.atomic
def record_step(
    *,
    cycle: Cycle,
    position: int,
    client_id: uuid.UUID,
    measured: Measured,
    by: Recorder,
    started_at: datetime | None = None,
    ended_at: datetime | None = None,
    seen: int | None = None,
) -> CycleStep:
    """Store a whole step at once: one that takes no time, or one that is written down after.

    A chemical counts as put in when this is stored, so a rinse read before does not take it out.
    """
    take_turn(by)
    if (sent_before := CycleStep.objects.filter(client_id=client_id).first()) is not None:
        return sent_before
    cycle = _taken_up(cycle, by)
    plan_step = _plan_step(cycle, position)
    step = CycleStep(
        cycle=cycle,
        position=position,
        client_id=client_id,
        started_at=None if started_at is None else _past(started_at, "started_at"),
        recorded_by=by.person,
    )
    _write_end(step, client_id, _past(ended_at, "ended_at"), measured, by)
    _stored(step, plan_step, "done", by)
    _after_the_end(step, plan_step, seen, by)
    return step


def _stored(step: CycleStep, plan_step: PlanStep, action: str, by: Recorder) -> CycleStep:
    """Store a new attempt, and first of all that a chemical goes in."""
    if (kind := _GOES_IN.get(plan_step.kind)) is not None and not _was_in_already(step):
        store_event(cycle=step.cycle, kind=kind, at=step.started_at or step.ended_at, by=by)
    create(step, by=by, action=f"{plan_step.kind.in_words} {action}")
    return step


def _was_in_already(step: CycleStep) -> bool:
    """Whether this writes down once more what began at the same moment: nothing new went in."""
    others = CycleStep.objects.filter(cycle=step.cycle, position=step.position)
    return step.started_at is not None and others.filter(started_at=step.started_at).exists()


def _after_the_end(step: CycleStep, plan_step: PlanStep, seen: int | None, by: Recorder) -> None:
    """Store what the end of a step says about the line."""
    at = step.ended_at
    if at is None:
        return
    if plan_step.kind is StepKind.DRAIN:
        store_event(cycle=step.cycle, kind=LineEventKind.DRAINED, at=at, seen=seen, by=by)
    if plan_step.kind is StepKind.RINSE and plan_step.verification is Verification.TAP_WATER_PH:
        tolerance = plan_step.ph_tolerance
        store_event(
            cycle=step.cycle,
            kind=LineEventKind.RINSE_READ,
            at=at,
            seen=seen,
            is_verified=tolerance is not None
            and is_rinse_verified(tolerance, step.as_recorded(), step.cycle.outlets),
            by=by,
        )


def _taken_up(cycle: Cycle, by: Recorder) -> Cycle:
    """Lock a cycle; one that was ended is open again, as something more happened in it."""
    locked = Cycle.objects.select_for_update(of=("self",)).select_related("plan").get(pk=cycle.pk)
    if locked.ended_at is not None:
        locked.ended_at, locked.result, locked.verdict = None, "", {}
        locked.given_up_because = ""
        locked.full_clean()
        locked.save()
        record(locked, by=by, action="opened again")
        store_event(cycle=locked, kind=LineEventKind.CLEANING_BEGAN, at=timezone.now(), by=by)
    return locked


def _plan_step(cycle: Cycle, position: int) -> PlanStep:
    step = cycle.plan.as_rules().step(position)
    if step is None:
        raise ValidationError(f"{cycle.plan.name} has no step {position}. Open the cycle again.")
    return step


def _ended_before(end_id: uuid.UUID) -> CycleStep | None:
    return CycleStep.objects.filter(end_id=end_id).first()


def _write_end(
    step: CycleStep, end_id: uuid.UUID, ended_at: datetime, measured: Measured, by: Recorder
) -> None:
    """Put what was measured into a step; what was said when it began stays where nothing is new."""
    step.end_id, step.ended_at, step.ended_by = end_id, ended_at, by.person
    if measured.chemical is not None or measured.is_hot_water or measured.application:
        used = _used(
            step.cycle,
            measured.chemical,
            measured.is_hot_water,
            measured.application or step.application,
        )
        for name, value in used.items():
            setattr(step, name, value)
    for name, value in _readings(measured).items():
        setattr(step, name, value)


def _save_end(step: CycleStep, *, is_new: bool, by: Recorder) -> None:
    if is_new:
        create(step, by=by, action="ended once more")
        return
    step.full_clean()
    step.save()
    record(step, by=by, action="ended")


def _readings(measured: Measured) -> dict[str, Any]:
    return {
        "strength": reading_document(measured.strength),
        "temperature_degc": _to_places(measured.temperature_degc, "0.1"),
        "ph": reading_document(measured.ph),
        "hardness_mg_per_l": _to_places(measured.hardness_mg_per_l, "0.1"),
        "flow_l_min": _to_places(measured.flow_l_min, "0.01"),
        "tap_water_ph": reading_document(measured.tap_water_ph),
        "outlet_ph": [reading_document(each) for each in measured.outlet_ph],
        "passed": measured.passed,
        "typed": dict(measured.typed),
    }


def _used(
    cycle: Cycle, chemical: ChemicalBatch | None, is_hot_water: bool, application: str
) -> dict[str, Any]:
    if chemical is not None and chemical.chemical.venue_id != cycle.venue_id:
        raise ValueError(f"{chemical} belongs to another venue")
    return {"chemical": chemical, "is_hot_water": is_hot_water, "application": application}


def _past(moment: datetime | None, name: str) -> datetime:
    """Return a moment that is not still to come; now where none is given."""
    now = timezone.now()
    if moment is not None and moment > now:
        raise ValidationError({name: "This time is still to come. Record what was done."})
    return moment or now


def _to_places(value: Decimal | None, places: str) -> Decimal | None:
    return None if value is None else value.quantize(Decimal(places))
