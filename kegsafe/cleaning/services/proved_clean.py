"""The dated record that a cycle leaves when it counts: what the rest of the house reads."""

from kegsafe.cleaning.models import CleaningRecord, Cycle
from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.rules.cleaning.plans import Plan
from kegsafe.rules.cleaning.vocabulary import StepKind, Verification

_LONGEST = 200
Proof = CleaningRecord.Verification


def keep_record(cycle: Cycle, *, counts: bool, by: Recorder) -> None:
    """Write the record of a keg or line whose cycle counts; take its proof away if it does not.

    A cycle judged again after a late step may count no more. Its record then stays, as nothing
    is rewritten, but says neither sanitised nor verified.
    """
    if cycle.sort not in ("keg", "line"):
        return
    if cycle.record is None:
        cycle.record = _new_record(cycle, by) if counts else None
        return
    plan = cycle.plan.as_rules()
    changes = {
        "cleaned_at": cycle.ended_at,
        "sanitised": counts and _sanitises(plan),
        "is_allergen_clean": counts and plan.is_allergen_clean,
        "verification": _proof(plan) if counts else Proof.NONE,
    }
    amend(cycle.record, changes, by=by, reason="The cycle was judged again after a late step.")


def _new_record(cycle: Cycle, by: Recorder) -> CleaningRecord:
    plan = cycle.plan.as_rules()
    clean = CleaningRecord(
        venue=cycle.venue,
        keg=cycle.keg,
        line=cycle.line,
        cleaned_at=cycle.ended_at,
        method=_method(cycle),
        sanitised=_sanitises(plan),
        is_allergen_clean=plan.is_allergen_clean,
        verification=_proof(plan),
        recorded_by=cycle.operator,
    )
    create(clean, by=by, action="cleaned")
    return clean


def _method(cycle: Cycle) -> str:
    """Return the plan and what was used, in as many words as the record takes."""
    steps = cycle.steps.exclude(chemical=None).select_related("chemical__chemical").order_by("pk")
    used = list(dict.fromkeys(str(step.chemical) for step in steps))
    return "; ".join([str(cycle.plan), *used])[:_LONGEST]


def _sanitises(plan: Plan) -> bool:
    return any(step.kind is StepKind.SANITISE for step in plan.steps)


def _proof(plan: Plan) -> str:
    """Return how a cycle that counts was proved: each step of its plan has its proof on record."""
    proofs = {step.verification for step in plan.steps}
    if Verification.ALLERGEN_TEST in proofs:
        return Proof.LAST_RINSE_TEST
    return Proof.VISUAL if Verification.LOOKED_AT in proofs else Proof.NONE
