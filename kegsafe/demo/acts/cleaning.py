"""What people of the scenario do with brush and detergent."""

import uuid
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Model

from kegsafe.cleaning import services as cleaning
from kegsafe.cleaning.forms.reading_fields import PhField, StrengthField
from kegsafe.cleaning.models import Cycle
from kegsafe.cleaning.queries.circuits import seen_of
from kegsafe.cleaning.services import Measured
from kegsafe.demo.desk import Desk, read_as
from kegsafe.demo.scenario import Table
from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.readings import Means, Reading
from kegsafe.rules.cleaning.vocabulary import StepKind, Verification

_SORTS = {"kegs": "keg", "lines": "line", "taps": "tap", "pieces": "piece"}
_BY_HAND = timedelta(minutes=3)  # what takes no time by the plan still takes some


def clean(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    method: str,
    verification: str,
    kegs: tuple[str, ...] = (),
    lines: tuple[str, ...] = (),
    is_allergen_clean: bool = False,
) -> None:
    """Record the same clean of several kegs and lines."""
    cleaning.record_cleans(
        venue=desk.venue,
        items=_named(desk, {"kegs": kegs, "lines": lines}),
        cleaned_at=at,
        method=method,
        sanitised=True,
        is_allergen_clean=is_allergen_clean,
        verification=verification,
        by=by,
    )


def take_up(desk: Desk, at: datetime, by: Recorder, *, plans: list[str]) -> None:
    """Take up starter plans as the venue's own."""
    for key in plans:
        taken = cleaning.copy_plan(venue=desk.venue, starter_key=key, by=by)
        desk.keep("plan", key, taken)


def list_chemical(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    name: str,
    batch: str,
    expires: str,
    stock: str,
    in_use: str,
    used: Table,
    **label: Any,
) -> None:
    """Put a chemical on the list with what its label says, and a batch of it into the cupboard.

    `used` is how this bar uses it: `strength` (a band is a strip's), `temperature`, `ph` and
    `minutes`.
    """
    concentrate, working = StrengthField().clean(stock), StrengthField().clean(in_use)
    chemical = cleaning.add_chemical(
        venue=desk.venue,
        name=name,
        stock_mg_per_l=_tenth(concentrate.lowest),
        label_at_least_mg_per_l=_tenth(working.lowest),
        label_at_most_mg_per_l=_tenth(working.highest),
        by=by,
        **label,
    )
    kept = cleaning.add_batch(
        chemical=chemical, batch=batch, expires_on=desk.moments.day(expires), by=by
    )
    desk.keep("chemical", name, kept)
    desk.keep("use of chemical", name, {"of": name, **used})


def add_pieces(desk: Desk, at: datetime, by: Recorder, *, pieces: list[Table]) -> None:
    """List what is cleaned besides kegs, lines and taps."""
    for piece in pieces:
        place = desk.get("place", piece["place"])
        added = cleaning.add_item(venue=desk.venue, by=by, **{**piece, "place": place})
        desk.keep("piece", added.name, added)


def carries(
    desk: Desk, at: datetime, by: Recorder, *, drink: str, lines: tuple[str, ...] = ()
) -> None:
    """Say what kind of drink lines carry."""
    for name in lines:
        cleaning.say_drink_carried(piece=desk.get("line", name), drink_kind=drink, by=by)


def run_cycle(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    plan: str,
    using: Mapping[str, str | Table],
    tap_water: str = "",
    without: Collection[str] = (),
    up_to: str = "",
    checked_by: str = "",
    every_days: int = 0,
    times: int = 1,
    **pieces: Collection[str],
) -> None:
    """Clean pieces together by a plan, step after step, and close their cycles.

    `using` names for each chemistry the chemical, or `of` which one and what was not as usual;
    `without` the kinds of step that nobody recorded. `up_to` is the kind of step that still goes
    on: the cycle is not closed then. The same may have been done several `times`, `every_days`.
    Each piece remembers its last cycle.
    """
    used = {chemistry: _as_used(desk, chosen) for chemistry, chosen in using.items()}
    for number in range(times):
        cycles = cleaning.start_circuit(
            venue=desk.venue,
            plan=desk.get("plan", plan),
            pieces=_named(desk, pieces),
            circuit=uuid.uuid4(),
            started_at=at + timedelta(days=number * every_days),
            by=by,
        )
        for cycle in cycles:
            _Work(desk, cycle, by, used, tap_water).does(without, up_to)
            if checked_by:
                cleaning.verify_cycle(cycle=cycle, by=desk.by(checked_by))
            if not up_to:
                cleaning.close_cycle(cycle=cycle, by=by)
            desk.keep("cycle", str(cycle.piece), cycle)


def correct(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    cycle: str,
    checked_by: str = "",
    **words: str,
) -> None:
    """Record what was done about the last cycle of a piece, and who checked that it was done."""
    action = cleaning.record_corrective_action(
        cycle=desk.get("cycle", cycle), acted_at=at, by=by, **words
    )
    if checked_by:
        cleaning.verify_corrective_action(action=action, by=desk.by(checked_by))


CLEANING: Mapping[str, Callable[..., None]] = {
    "clean": clean,
    "take up plans": take_up,
    "list chemical": list_chemical,
    "list pieces": add_pieces,
    "carries": carries,
    "cycle": run_cycle,
    "correct": correct,
}


@dataclass(frozen=True, slots=True)
class _Work:
    """One person at one cycle."""

    desk: Desk
    cycle: Cycle
    by: Recorder
    using: Mapping[str, Table]
    tap_water: str

    def does(self, without: Collection[str], up_to: str) -> None:
        """Record the steps of the plan one after the other, the first one at the beginning."""
        begins = self.cycle.started_at
        for step in self.cycle.plan.as_rules().steps:
            ends = begins + self._takes(step)
            if step.kind == up_to:
                self._begin(step, begins)
                return
            if step.kind not in without:
                self._record(step, begins, ends)
            begins = ends

    def _takes(self, step: PlanStep) -> timedelta:
        used = self._used(step)
        return timedelta(minutes=used["minutes"]) if used else _BY_HAND

    def _begin(self, step: PlanStep, at: datetime) -> None:
        cleaning.begin_step(
            cycle=self.cycle,
            position=step.position,
            client_id=uuid.uuid4(),
            started_at=at,
            chemical=self.desk.get("chemical", self._used(step)["of"]),
            application=step.contacts[0].application.value,
            by=self.by,
        )

    def _record(self, step: PlanStep, begins: datetime, ends: datetime) -> None:
        line = self.cycle.line_id
        cleaning.record_step(
            cycle=self.cycle,
            position=step.position,
            client_id=uuid.uuid4(),
            measured=Measured(**dict(self._read(step))),
            started_at=begins,
            ended_at=ends,
            seen=seen_of([line]).get(line) if line else None,
            by=self.by,
        )

    def _used(self, step: PlanStep) -> Table:
        return self.using[step.chemistry.value] if step.chemistry else {}

    def _read(self, step: PlanStep) -> Iterator[tuple[str, Any]]:
        """Yield what a step is recorded with."""
        if used := self._used(step):
            yield "chemical", self.desk.get("chemical", used["of"])
            yield "application", step.contacts[0].application.value
            yield "temperature_degc", read_as(used.get("temperature"), Kind.TEMPERATURE)
            yield "strength", _strength(step, used.get("strength", ""))
            yield "ph", PhField().clean(used.get("ph", ""))
        if step.verification is Verification.TAP_WATER_PH:
            read = PhField().clean(self.tap_water)
            yield "tap_water_ph", read
            yield "outlet_ph", (read,) * self.cycle.outlets
        if step.verification in (Verification.LOOKED_AT, Verification.ALLERGEN_TEST):
            yield "passed", True


def _strength(step: PlanStep, typed: str) -> Reading | None:
    """Return a strength as typed; a detergent is dosed, a sanitiser read."""
    reading = StrengthField().clean(typed)
    if reading is None or step.kind is not StepKind.DETERGENT:
        return reading
    return Reading(reading.lowest, reading.highest, Means.DOSED)


def _tenth(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.1"))


def _as_used(desk: Desk, chosen: str | Table) -> Table:
    """Return how a chemical was used: as usual, but for what is said otherwise."""
    otherwise = {"of": chosen} if isinstance(chosen, str) else chosen
    return {**desk.get("use of chemical", otherwise["of"]), **otherwise}


def _named(desk: Desk, pieces: Mapping[str, Collection[str]]) -> list[Model]:
    return [desk.get(_SORTS[sort], name) for sort, names in pieces.items() for name in names]
