"""The two cycles that the list of what is due reads: the last one, and the last that counted."""

from kegsafe.cleaning.models import CleaningPlan, Cycle, LatestCycles
from kegsafe.rules.cleaning.plans import Plan
from kegsafe.rules.cleaning.tightening import copy_findings

# What makes one plan less than another; how often it is owed does not.
_LESS = {"plan.step_left_out", "plan.limit_looser", "plan.second_person_left_out"}


def remember_latest(cycle: Cycle) -> None:
    """Write down the latest cycles of a piece after one of its cycles was ended."""
    _remember(cycle, cycle.plan.family)
    if cycle.result != Cycle.Result.COMPLETE:
        return
    for other in _plans_covered(cycle):
        latest, _ = LatestCycles.objects.get_or_create(
            venue_id=cycle.venue_id,
            piece_key=cycle.piece_key,
            family=other.family,
            defaults={"last": cycle, "last_good": cycle},
        )
        latest.last = latest.last_good = cycle
        latest.save()


def covers(plan: Plan, other: Plan) -> bool:
    """Whether a cycle under `plan` does all that `other` asks for, within limits as strict."""
    return not any(finding.rule in _LESS for finding in copy_findings(plan, other))


def _plans_covered(cycle: Cycle) -> list[CleaningPlan]:
    plan = cycle.plan.as_rules()
    others = CleaningPlan.objects.filter(
        venue_id=cycle.venue_id, equipment=cycle.plan.equipment, replaced_on=None
    ).exclude(family=cycle.plan.family)
    return [other for other in others if covers(plan, other.as_rules())]


def _remember(cycle: Cycle, family: object) -> None:
    piece = {cycle.sort: cycle.piece}
    ended = Cycle.objects.filter(**piece, plan__family=family).exclude(ended_at=None)
    newest = ended.order_by("-ended_at", "-pk")
    good = newest.filter(result=Cycle.Result.COMPLETE).first()
    LatestCycles.objects.update_or_create(
        venue_id=cycle.venue_id,
        piece_key=cycle.piece_key,
        family=family,
        defaults={"last": newest.first(), "last_good": good},
    )
