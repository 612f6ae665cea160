"""The sanitise step after the detergent: on by default, left out only as the authority allows.

The model code asks for it and the trade's guidance for beer lines does not, so some authorities
allow a plan without. Then the plan keeps who allowed it, on which paper, when and why.
"""

from collections.abc import Iterable
from dataclasses import replace

from kegsafe.rules.cleaning.plans import Approval, Plan, PlanStep
from kegsafe.rules.cleaning.vocabulary import StepKind


def sanitises(plan: Plan) -> bool:
    """Whether a plan has a sanitise step."""
    return any(step.kind is StepKind.SANITISE for step in plan.steps)


def without_sanitising(plan: Plan, approval: Approval) -> Plan:
    """Return a plan without its sanitise steps, numbered anew, with the approval it rests on."""
    kept = [step for step in plan.steps if step.kind is not StepKind.SANITISE]
    return replace(plan, steps=_numbered(kept), without_sanitising=approval)


def sanitising_again(plan: Plan, starter: Plan) -> Plan:
    """Return a plan with the sanitise steps of its starter back in their places."""
    steps = list(plan.steps)
    if not sanitises(plan):
        for step in starter.steps:
            if step.kind is StepKind.SANITISE:
                steps.insert(_place(steps, step, starter), step)
    return replace(plan, steps=_numbered(steps), without_sanitising=None)


def _place(steps: list[PlanStep], step: PlanStep, starter: Plan) -> int:
    """Return where a step of the starter goes: before what follows it there, else at the end."""
    following = {each.kind for each in starter.steps if each.position == step.position + 1}
    places = [place for place, each in enumerate(steps) if each.kind in following]
    return places[-1] if places else len(steps)


def _numbered(steps: Iterable[PlanStep]) -> tuple[PlanStep, ...]:
    return tuple(replace(step, position=place) for place, step in enumerate(steps, 1))
