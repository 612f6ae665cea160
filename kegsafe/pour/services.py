"""Recording that somebody looked before pouring, and holding what stood too warm."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from kegsafe.batches.models import Fill
from kegsafe.batches.services import hold_fill
from kegsafe.cold_chain.models import CorrectiveAction
from kegsafe.cold_chain.services import record_action
from kegsafe.equipment.models import Place
from kegsafe.ledger import services as ledger
from kegsafe.ledger.services import Recorder
from kegsafe.pour.models import PourCheck
from kegsafe.rules.pour_check import PourVerdict


@transaction.atomic
def record_check(
    *, fill_id: int, verdict: PourVerdict, checked_at: datetime, by: Recorder
) -> PourCheck:
    """Store a pour check as it was shown, with its ledger entry."""
    check = PourCheck(
        fill_id=fill_id,
        checked_at=checked_at,
        checked_by=by.person,
        outcome=verdict.outcome.value,
        findings=[finding.as_json() for finding in verdict.findings],
    )
    ledger.create(check, by=by, action="checked before pouring")
    return check


@transaction.atomic
def hold_warm_drinks(
    *,
    place: Place,
    excursion_from_s: int,
    fills: Sequence[Fill],
    reason: str,
    held_at: datetime,
    by: Recorder,
) -> CorrectiveAction:
    """Put the drinks that stood in a place that was too warm on hold: all of them, or none.

    The hold is the corrective action, and is recorded as one. Raises ValidationError for a drink
    that is not in its keg any more, or is on hold already.
    """
    for fill in fills:
        hold_fill(fill=fill, reason=reason, by=by)
    kegs = ", ".join(fill.keg.name for fill in fills)
    return record_action(
        place=place,
        excursion_from_s=excursion_from_s,
        what=f"Put on hold: {kegs}."[:500],
        taken_at=held_at,
        by=by,
    )
