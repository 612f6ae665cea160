"""What was done about a cycle that did not count, and who checked that it was done."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cleaning.models import CorrectiveAction, Cycle
from kegsafe.ledger.services import Recorder, create, record, take_turn


@transaction.atomic
def record_corrective_action(
    *,
    cycle: Cycle,
    found: str,
    cause: str,
    done: str,
    product_affected: str,
    by: Recorder,
    acted_at: datetime | None = None,
) -> CorrectiveAction:
    """Store what was found, why, what was done, and what became of the drinks.

    Raises ValidationError for a cycle that is complete or still goes on, and for a time to come.
    """
    take_turn(by)
    cycle = Cycle.objects.select_for_update().get(pk=cycle.pk)
    if cycle.ended_at is None or cycle.result == Cycle.Result.COMPLETE:
        raise ValidationError("This cycle is not one that failed or was left unfinished.")
    now = timezone.now()
    if acted_at is not None and acted_at > now:
        raise ValidationError({"acted_at": "This time is still to come. Record what was done."})
    action = CorrectiveAction(
        cycle=cycle,
        found=found.strip(),
        cause=cause.strip(),
        done=done.strip(),
        product_affected=product_affected.strip(),
        acted_at=acted_at or now,
        recorded_by=by.person,
    )
    create(action, by=by, action="corrective action")
    return action


@transaction.atomic
def verify_corrective_action(*, action: CorrectiveAction, by: Recorder) -> CorrectiveAction:
    """Sign as a second person that it was done. Raises ValidationError for who recorded it."""
    take_turn(by)
    locked = CorrectiveAction.objects.select_for_update().get(pk=action.pk)
    if by.person.casefold() == locked.recorded_by.casefold():
        raise ValidationError(f"{by.person} recorded this. Somebody else signs the check.")
    if not locked.verified_by:
        locked.verified_by, locked.verified_at = by.person, timezone.now()
        locked.full_clean()
        locked.save()
        record(locked, by=by, action="corrective action checked")
    return locked
