"""Does this cycle count? Each step recorded, inside its limits, and proved.

A broken limit fails the cycle; what is not recorded leaves it incomplete, and it can be
completed; only a complete one moves the day the next is due.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise

from kegsafe.rules.cleaning.checks import ask, stop
from kegsafe.rules.cleaning.chemicals import ChemicalFacts
from kegsafe.rules.cleaning.limits import Active
from kegsafe.rules.cleaning.plans import Plan, PlanStep
from kegsafe.rules.cleaning.records import CycleFacts, RecordedStep
from kegsafe.rules.cleaning.step_checks import StepCase, step_findings
from kegsafe.rules.cleaning.vocabulary import Chemistry, StepKind
from kegsafe.rules.findings import Finding, Severity, gravest_first

RECORD = "Record of the cycle"
NEVER_MIX = "CDC, MMWR report on chlorine gas from mixed cleaners"


class CycleResult(StrEnum):
    """What a cycle is worth."""

    COMPLETE = "complete"
    INCOMPLETE = "incomplete"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class CycleVerdict:
    """The result, and everything a person needs to believe it or put it right."""

    result: CycleResult
    findings: tuple[Finding, ...]

    @property
    def counts(self) -> bool:
        """Whether the cycle moves the day the next one is due."""
        return self.result is CycleResult.COMPLETE

    @property
    def missing(self) -> tuple[str, ...]:
        """Return what is still to be recorded, in sentences."""
        return self._said(Severity.ASK)

    @property
    def broken(self) -> tuple[str, ...]:
        """Return what broke a limit, by how much and what to do, in sentences."""
        return self._said(Severity.STOP)

    @property
    def remarks(self) -> tuple[str, ...]:
        """Return what is worth knowing though it changes nothing."""
        return self._said(Severity.WARN)

    def as_json(self) -> dict[str, object]:
        """Return what a command prints and the record keeps."""
        return {
            "result": self.result.value,
            "findings": [finding.as_json() for finding in self.findings],
        }

    def _said(self, severity: Severity) -> tuple[str, ...]:
        return tuple(each.statement for each in self.findings if each.severity is severity)


@dataclass(frozen=True, slots=True)
class CycleCase:
    """One cycle with the plan and the rules it is judged by."""

    plan: Plan
    facts: CycleFacts
    code: str
    on: date

    def attempts(self, step: PlanStep) -> tuple[RecordedStep, ...]:
        """Return every attempt at a step, the last one last."""
        return tuple(each for each in self.facts.recorded if each.position == step.position)

    def last(self, step: PlanStep) -> RecordedStep | None:
        """Return the attempt that counts."""
        return next(reversed(self.attempts(step)), None)


def judge_cycle(plan: Plan, facts: CycleFacts, code: str, on: date) -> CycleVerdict:
    """Return what a cycle is worth under its plan, a code, and the rules of its own day.

    Parameters
    ----------
    plan : the very version of the plan the cycle was recorded under
    code : key of the venue's food code, as in shared/cleaning/sanitiser_codes.csv
    on : the day of the cycle in the venue's zone; its limits are those of that day

    Raises UnknownSanitiserCode for a code without a sanitiser table.
    """
    case = CycleCase(plan, facts, code, on)
    findings = gravest_first(finding for check in CHECKS for finding in check(case))
    severities = {finding.severity for finding in findings}
    if Severity.STOP in severities:
        return CycleVerdict(CycleResult.FAILED, findings)
    if Severity.ASK in severities or not plan.steps:
        return CycleVerdict(CycleResult.INCOMPLETE, findings)
    return CycleVerdict(CycleResult.COMPLETE, findings)


def every_step_is_recorded(case: CycleCase) -> Iterator[Finding]:
    for step in case.plan.steps:
        if not case.attempts(step):
            yield ask(
                "cleaning.step_not_recorded",
                f"{_opening(step)} is not recorded. Do it, or record it.",
                RECORD,
            )


def every_step_is_in_limits(case: CycleCase) -> Iterator[Finding]:
    for step in case.plan.steps:
        attempts = case.attempts(step)
        if not attempts:
            continue
        yield from step_findings(_step_case(case, step, attempts[-1]))
        failed = [each for each in attempts[:-1] if _failed(case, step, each)]
        if failed:
            times = "once" if len(failed) == 1 else f"{len(failed)} times"
            yield Finding(
                "cleaning.done_again",
                Severity.WARN,
                f"{_opening(step)} failed {times} and was done again; the last attempt counts.",
                RECORD,
                "venue",
            )


def steps_are_in_order(case: CycleCase) -> Iterator[Finding]:
    """A later step that began before an earlier one ended proves nothing of either."""
    done = [(step, last) for step in case.plan.steps if (last := case.last(step)) is not None]
    for (earlier, first), (later, second) in pairwise(done):
        if first.ended_at is None or second.began_at is None:
            continue
        if second.began_at < first.ended_at:
            yield _out_of_order(earlier, later)


def _out_of_order(earlier: PlanStep, later: PlanStep) -> Finding:
    words = f"{_opening(later)} began before {earlier.name} had ended."
    if earlier.kind is StepKind.DEPRESSURISE:
        return stop(
            "cleaning.opened_under_pressure",
            f"{words} Relieve the pressure first, every time: start the cycle again.",
            RECORD,
            "venue",
        )
    return ask(
        "cleaning.out_of_order",
        f"{words} Correct the times, or do {later.name} again.",
        RECORD,
    )


def nothing_was_mixed(case: CycleCase) -> Iterator[Finding]:
    """Acid never meets chlorine, nor caustic acid, without water between."""
    before: ChemicalFacts | None = None
    for each in sorted(case.facts.recorded, key=_as_it_happened):
        step = case.plan.step(each.position)
        if step is not None and step.kind is StepKind.RINSE and each.ended_at is not None:
            before = None
        if each.chemical is None:
            continue
        if before is not None and _must_not_meet(before, each.chemical):
            yield stop(
                "cleaning.mixed",
                f"{each.chemical.name} followed {before.name} with no rinse between. Get out and "
                "air the room if there is a smell of chlorine. Rinse well and start the cycle "
                "again.",
                NEVER_MIX,
                "read",
            )
        before = each.chemical


def _as_it_happened(recorded: RecordedStep) -> tuple[bool, float]:
    """Sort by the times given; an attempt without any comes last, as it was recorded."""
    began_at = recorded.began_at
    return began_at is None, began_at.timestamp() if began_at else 0.0


def _must_not_meet(one: ChemicalFacts, other: ChemicalFacts) -> bool:
    pair = (one, other)
    acid = any(chemical.is_acid for chemical in pair)
    chlorine = any(chemical.active is Active.CHLORINE for chemical in pair)
    alkaline = any(chemical.chemistry is Chemistry.ALKALINE for chemical in pair)
    return acid and (chlorine or alkaline)


def second_person_verified(case: CycleCase) -> Iterator[Finding]:
    if not case.plan.needs_second_person:
        return
    verifier = (case.facts.verified_by or "").strip()
    if not verifier:
        yield ask(
            "cleaning.not_verified",
            "The plan asks for a second person to check, and none has signed.",
            RECORD,
        )
    elif verifier.casefold() == case.facts.operator.strip().casefold():
        yield ask(
            "cleaning.verified_by_the_same_person",
            f"{verifier} cleaned and checked. The plan asks for two people.",
            RECORD,
        )


def steps_belong_to_the_plan(case: CycleCase) -> Iterator[Finding]:
    for each in case.facts.recorded:
        if case.plan.step(each.position) is None:
            yield ask(
                "cleaning.unknown_step",
                f"A step {each.position} is recorded that the plan does not have. Record it in "
                "its place.",
                RECORD,
            )


CHECKS: tuple[Callable[[CycleCase], Iterator[Finding]], ...] = (
    every_step_is_recorded,
    every_step_is_in_limits,
    steps_are_in_order,
    nothing_was_mixed,
    second_person_verified,
    steps_belong_to_the_plan,
)


def _failed(case: CycleCase, step: PlanStep, attempt: RecordedStep) -> bool:
    findings = step_findings(_step_case(case, step, attempt))
    return any(finding.severity is Severity.STOP for finding in findings)


def _step_case(case: CycleCase, step: PlanStep, attempt: RecordedStep) -> StepCase:
    return StepCase(
        step=step,
        recorded=attempt,
        code=case.code,
        on=case.on,
        outlets=case.facts.outlets if case.plan.equipment.has_outlets else 1,
        bore_mm=case.facts.bore_mm,
        is_rinsed_after=_is_rinsed_after(case, step),
    )


def _is_rinsed_after(case: CycleCase, step: PlanStep) -> bool:
    later = (each for each in case.plan.steps if each.position > step.position)
    rinses = (case.last(each) for each in later if each.kind is StepKind.RINSE)
    return any(rinse is not None and rinse.ended_at is not None for rinse in rinses)


def _opening(step: PlanStep) -> str:
    """Return the name of a step as it opens a sentence."""
    return step.name[0].upper() + step.name[1:]
