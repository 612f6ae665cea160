"""Cooling a hot syrup or tea: each stage by its hour, as a timed record with a verdict.

A temperature counts as reached when it was read, never earlier: no line is drawn between
two readings, since it would give time away.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import StrEnum

from kegsafe.rules.cold.tables import CoolingStage, cooling_stages
from kegsafe.rules.date_marking import elapsed_end
from kegsafe.rules.degrees import degrees
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding, Severity


class Procedure(StrEnum):
    """What the food was made from."""

    HOT = "hot"  # cooked or made with hot water
    AMBIENT = "ambient"  # mixed from ingredients at room temperature


class Progress(StrEnum):
    """How far a stage has come."""

    REACHED = "reached"
    RUNNING = "running"
    LATE = "late"


@dataclass(frozen=True, slots=True)
class CoolingReading:
    """A temperature read while something cools; `at` is aware."""

    at: datetime
    degc: Decimal


@dataclass(frozen=True, slots=True)
class StageVerdict:
    """One stage: its deadline, and when the temperature was read that ends it, if ever.

    `deadline` is None while the stage before it, which starts its clock, goes on.
    """

    stage: CoolingStage
    deadline: datetime | None
    reached_at: datetime | None
    progress: Progress


@dataclass(frozen=True, slots=True)
class CoolingVerdict:
    """Every stage and every finding. `started_at` is None when nothing was read."""

    started_at: datetime | None
    stages: tuple[StageVerdict, ...]
    findings: tuple[Finding, ...]

    @property
    def has_failed(self) -> bool:
        """Say whether some stage came late."""
        return any(each.progress is Progress.LATE for each in self.stages)

    @property
    def is_done(self) -> bool:
        """Say whether every stage was reached in time."""
        return bool(self.stages) and all(each.progress is Progress.REACHED for each in self.stages)


def cooling_verdict(
    readings: Sequence[CoolingReading], procedure: Procedure, house: House, on: date, now: datetime
) -> CoolingVerdict:
    """Return how a cooling stands against the code at a moment.

    The clock starts with the last reading at or above the first stage's temperature, or with
    the first reading of all when there is none so warm.

    Parameters
    ----------
    readings : any order; those after `now` are left out
    on : the day whose rules judge
    now : aware

    Raises MissingRule where no procedure is on file for the code.
    """
    stages = cooling_stages(house.code.key, procedure, on)
    known = sorted((each for each in readings if each.at <= now), key=lambda each: each.at)
    if not known:
        return CoolingVerdict(None, (), (_unread(stages[0]),))
    started_at = _start(known, stages[0])
    verdicts: list[StageVerdict] = []
    for stage in stages:
        before = verdicts[-1].reached_at if verdicts else started_at
        begins = started_at if stage.counted_from == "start" else before
        verdicts.append(_stage_verdict(stage, known, started_at, begins, now))
    findings = tuple(_finding(each, started_at, house) for each in verdicts)
    return CoolingVerdict(started_at, tuple(verdicts), findings)


def _start(known: Sequence[CoolingReading], first: CoolingStage) -> datetime:
    """Return when the clock started: never later than the food can have been that warm."""
    if first.from_degc is None:
        return known[0].at
    begun = known[0].at
    for each in known:
        if each.degc < first.from_degc:
            break
        begun = each.at
    return begun


def _stage_verdict(
    stage: CoolingStage,
    known: Sequence[CoolingReading],
    started_at: datetime,
    begins: datetime | None,
    now: datetime,
) -> StageVerdict:
    deadline = None if begins is None else elapsed_end(begins, stage.hours)
    reached = next(
        (each.at for each in known if each.at >= started_at and each.degc <= stage.to_degc), None
    )
    if deadline is None:
        return StageVerdict(stage, None, reached, Progress.RUNNING)
    if reached is not None:
        progress = Progress.REACHED if reached <= deadline else Progress.LATE
    else:
        progress = Progress.LATE if now > deadline else Progress.RUNNING
    return StageVerdict(stage, deadline, reached, progress)


def _unread(stage: CoolingStage) -> Finding:
    return Finding(
        "cooling.not_read",
        Severity.ASK,
        "No temperature of this cooling is on record. Read it now.",
        stage.citation,
        stage.verified,
    )


def _finding(verdict: StageVerdict, started_at: datetime, house: House) -> Finding:
    stage = verdict.stage
    goal = degrees(stage.to_degc)
    due = f"{verdict.deadline.astimezone(house.zone):%H:%M}" if verdict.deadline else "not yet set"
    if verdict.progress is Progress.REACHED and verdict.reached_at is not None:
        taken = _taken(started_at, verdict.reached_at)
        severity, said = Severity.NOTE, f"At {goal} after {taken}; due {due}."
    elif verdict.progress is Progress.RUNNING:
        severity, said = Severity.ASK, f"Not yet at {goal}; due {due}. Read it before then."
    else:
        severity, said = (
            Severity.STOP,
            f"Not at {goal} by {due}, on the readings taken: the manager decides, and until then "
            "it is not used.",
        )
    return Finding(
        f"cooling.{stage.procedure}.{stage.stage}", severity, said, stage.citation, stage.verified
    )


def _taken(start: datetime, end: datetime) -> str:
    minutes = int((end.astimezone(UTC) - start.astimezone(UTC)).total_seconds()) // 60
    return f"{minutes // 60} h {minutes % 60:02d} min"
