"""What a circuit does next: which steps one tap of the recording page stands for.

Steps without a figure go together up to the next one that is looked at, timed or read, so that
a hand in a wet glove taps as little as the record allows.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from kegsafe.rules.cleaning.plans import Plan, PlanStep
from kegsafe.rules.cleaning.records import RecordedStep
from kegsafe.rules.cleaning.rinse_proof import is_rinse_verified
from kegsafe.rules.cleaning.vocabulary import StepKind, Verification

_TOKEN = re.compile(r"(?P<done>(?:\d{1,2}(?:\.\d{1,2})*)?)/(?P<ends>\d{0,2})/(?P<begins>\d{0,2})")
_LOOKED_AT = (Verification.LOOKED_AT, Verification.ALLERGEN_TEST)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """Steps that are done at the tap, the one that ends with it, and the one it begins."""

    done: tuple[PlanStep, ...] = ()
    ends: PlanStep | None = None
    begins: PlanStep | None = None

    @property
    def token(self) -> str:
        """Return the stage as the page sends it back."""
        done = ".".join(str(step.position) for step in self.done)
        ends, begins = (str(step.position) if step else "" for step in (self.ends, self.begins))
        return f"{done}/{ends}/{begins}"

    @property
    def reads_rinse(self) -> bool:
        """Whether the pH of the rinse water is read."""
        return any(_is_read(step) for step in self.done)

    @property
    def looked_at(self) -> PlanStep | None:
        """Return the step that passes or does not; a stage has one at the most."""
        return next((step for step in self.done if step.verification in _LOOKED_AT), None)

    @property
    def steps(self) -> tuple[PlanStep, ...]:
        """Return all its steps in the order of the work."""
        ends = (self.ends,) if self.ends else ()
        begins = (self.begins,) if self.begins else ()
        return (*ends, *self.done, *begins)


class UnknownStage(ValueError):
    """The page sent a stage that the plan does not have."""


def stage_called(token: str, plan: Plan) -> Stage:
    """Return the stage that a page sent back; UnknownStage where the plan has no such steps."""
    sent = _TOKEN.fullmatch(token)
    if sent is None:
        raise UnknownStage(token)
    steps = {str(step.position): step for step in plan.steps}
    try:
        return Stage(
            done=tuple(steps[each] for each in sent["done"].split(".") if each),
            ends=steps[sent["ends"]] if sent["ends"] else None,
            begins=steps[sent["begins"]] if sent["begins"] else None,
        )
    except KeyError:
        raise UnknownStage(token) from None


def next_stage(plan: Plan, recorded: Sequence[RecordedStep], outlets: int) -> Stage | None:
    """Return what is to be done next; None where every step is on record."""
    left = steps_left(plan, recorded, outlets)
    if not left:
        return None
    first = left[0]
    last = _last_attempt(first, recorded)
    if last is not None and last.ended_at is None:
        return Stage(ends=first)
    return stage_from(left)


def stage_from(left: Sequence[PlanStep]) -> Stage:
    """Return the stage that begins with the first of these steps."""
    done: list[PlanStep] = []
    for step in left:
        if step.chemistry is not None:
            return Stage(done=tuple(done), begins=step)
        if _is_read(step) and done:
            break
        done.append(step)
        if step.verification in _LOOKED_AT:
            break
    return Stage(done=tuple(done))


def steps_left(plan: Plan, recorded: Sequence[RecordedStep], outlets: int) -> list[PlanStep]:
    """Return the steps still to do: not ended, not proved, or older than the step before them."""
    before = None
    for place, step in enumerate(plan.steps):
        last = _last_attempt(step, recorded)
        if last is None or last.ended_at is None or not _is_proved(step, last, outlets):
            return list(plan.steps[place:])
        if before is not None and last.began_at is not None and last.began_at < before:
            return list(plan.steps[place:])
        before = last.ended_at
    return []


def _last_attempt(step: PlanStep, recorded: Sequence[RecordedStep]) -> RecordedStep | None:
    return next((each for each in reversed(recorded) if each.position == step.position), None)


def _is_proved(step: PlanStep, last: RecordedStep, outlets: int) -> bool:
    """A rinse that is not proved is rinsed on; whatever else was broken is done again at will."""
    if not _is_read(step) or step.ph_tolerance is None:
        return True
    return is_rinse_verified(step.ph_tolerance, last, outlets)


def _is_read(step: PlanStep) -> bool:
    return step.kind is StepKind.RINSE and step.verification is Verification.TAP_WATER_PH
