"""A stored cycle in front of the rules: its plan's version, its steps, the code of its day."""

from kegsafe.cleaning.models import Cycle
from kegsafe.rules.cleaning.cycle import CycleVerdict, judge_cycle
from kegsafe.rules.cleaning.records import CycleFacts


def facts_of(cycle: Cycle) -> CycleFacts:
    """Return a cycle as the rules are told it, its steps in the order they were stored."""
    steps = cycle.steps.select_related("chemical__chemical").order_by("pk")
    return CycleFacts(
        recorded=tuple(step.as_recorded() for step in steps),
        operator=cycle.operator,
        verified_by=cycle.verified_by or None,
        outlets=cycle.outlets,
        bore_mm=cycle.bore_mm,
    )


def verdict_of(cycle: Cycle) -> CycleVerdict:
    """Return what a cycle is worth as far as it is recorded.

    Raises UnknownSanitiserCode where no sanitiser table is on file for the venue's code.
    """
    return judge_cycle(cycle.plan.as_rules(), facts_of(cycle), cycle.code_key, cycle.day)
