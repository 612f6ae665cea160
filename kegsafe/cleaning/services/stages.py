"""Recording one stage on every cycle of a circuit: all that one tap of the page stands for."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from kegsafe.cleaning.judging import facts_of
from kegsafe.cleaning.models import CleaningPlan, Cycle, CycleStep
from kegsafe.cleaning.services.cycles import Piece, close_cycle, start_circuit
from kegsafe.cleaning.services.steps import Measured, begin_step, end_step, record_step
from kegsafe.cleaning.stages import Stage, steps_left
from kegsafe.ledger.services import Recorder, take_turn
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.cleaning.rinse_proof import is_rinse_verified
from kegsafe.venues.models import Venue

_NOTHING = Measured()


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRecord:
    """What a person sent with one tap. `outlet_ph` is by cycle, one reading for each outlet."""

    ended: Measured = _NOTHING
    begun: Measured = _NOTHING
    tap_water_ph: Reading | None = None
    outlet_ph: Mapping[int, tuple[Reading, ...]] = field(default_factory=dict)
    passed: bool | None = None


@transaction.atomic
def record_stage(
    *,
    cycles: Sequence[Cycle],
    stage: Stage,
    sent: StageRecord,
    key: uuid.UUID,
    seen: Mapping[int, int],
    by: Recorder,
) -> None:
    """Store a stage for each cycle, and close the cycles that have nothing left to do.

    `key` is the page's own: sent again, nothing more is stored. `seen` is the last event of each
    line that the page had shown. What comes after a rinse that is not proved does not begin.
    """
    take_turn(by)
    at = timezone.now()
    for cycle in cycles:
        _Act(cycle, sent, key, seen.get(cycle.line_id or 0), at, by).record(stage)
    if stage.begins is None:
        for cycle in cycles:
            _close_when_done(cycle, by)


@transaction.atomic
def start_with_stage(
    *,
    venue: Venue,
    plan: CleaningPlan,
    pieces: Sequence[Piece],
    stage: Stage,
    sent: StageRecord,
    key: uuid.UUID,
    by: Recorder,
) -> list[Cycle]:
    """Begin a circuit and store its first stage with the same tap: both or neither."""
    cycles = start_circuit(venue=venue, plan=plan, pieces=pieces, circuit=key, by=by)
    record_stage(cycles=cycles, stage=stage, sent=sent, key=key, seen={}, by=by)
    return cycles


@dataclass(frozen=True, slots=True)
class _Act:
    """One cycle's share of a stage, all of it at one moment."""

    cycle: Cycle
    sent: StageRecord
    key: uuid.UUID
    seen: int | None
    at: datetime
    by: Recorder

    def record(self, stage: Stage) -> None:
        if stage.ends is not None:
            self._end(stage.ends)
        done = [self._done(step) for step in stage.done]
        if stage.begins is not None and all(
            self._may_go_on(step, attempt) for step, attempt in zip(stage.done, done, strict=True)
        ):
            self._begin(stage.begins)

    def _end(self, step: PlanStep) -> None:
        begun = CycleStep.objects.filter(cycle=self.cycle, position=step.position).last()
        words = {"measured": self.sent.ended, "ended_at": self.at, "by": self.by}
        if begun is not None:
            end_step(step=begun, end_id=self._id(step, "end"), seen=self.seen, **words)
        else:
            self._record(step, self.sent.ended)

    def _done(self, step: PlanStep) -> CycleStep:
        measured = replace(_NOTHING, passed=self.sent.passed)
        if Stage(done=(step,)).reads_rinse:
            measured = replace(
                _NOTHING,
                tap_water_ph=self.sent.tap_water_ph,
                outlet_ph=self.sent.outlet_ph.get(self.cycle.pk, ()),
            )
        elif Stage(done=(step,)).looked_at is None:
            measured = _NOTHING
        return self._record(step, measured)

    def _record(self, step: PlanStep, measured: Measured) -> CycleStep:
        return record_step(
            cycle=self.cycle,
            position=step.position,
            client_id=self._id(step, "done"),
            measured=measured,
            ended_at=self.at,
            seen=self.seen,
            by=self.by,
        )

    def _begin(self, step: PlanStep) -> None:
        begin_step(
            cycle=self.cycle,
            position=step.position,
            client_id=self._id(step, "begin"),
            started_at=self.at,
            chemical=self.sent.begun.chemical,
            is_hot_water=self.sent.begun.is_hot_water,
            application=self.sent.begun.application,
            by=self.by,
        )

    def _may_go_on(self, step: PlanStep, attempt: CycleStep) -> bool:
        if attempt.passed is False:
            return False
        if not Stage(done=(step,)).reads_rinse or step.ph_tolerance is None:
            return True
        return is_rinse_verified(step.ph_tolerance, attempt.as_recorded(), self.cycle.outlets)

    def _id(self, step: PlanStep, what: str) -> uuid.UUID:
        return uuid.uuid5(self.key, f"{self.cycle.pk}/{step.position}/{what}")


def _close_when_done(cycle: Cycle, by: Recorder) -> None:
    """Close a cycle with every step on record, unless a second person has still to sign."""
    current = Cycle.objects.select_related("plan").get(pk=cycle.pk)
    plan, facts = current.plan.as_rules(), facts_of(current)
    waits = plan.needs_second_person and not current.verified_by
    if current.is_open and not waits and not steps_left(plan, facts.recorded, facts.outlets):
        close_cycle(cycle=current, by=by)
