"""Recording that somebody looked before pouring."""

from datetime import datetime

from django.db import transaction

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
