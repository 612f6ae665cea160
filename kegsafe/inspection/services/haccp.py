"""Making the HACCP summary the venue's own, and amending it."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.inspection.models import HaccpStep
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create, take_turn
from kegsafe.rules.haccp import starter_steps
from kegsafe.venues.models import Venue


@transaction.atomic
def adopt_summary(*, venue: Venue, by: Recorder) -> list[HaccpStep]:
    """Take the starter text as the venue's own, to be amended step by step.

    Raises ValidationError where the venue has a summary.
    """
    take_turn(by)
    if HaccpStep.objects.filter(venue=venue).exists():
        raise ValidationError("This venue has a summary already: amend its steps.")
    steps = [
        HaccpStep(venue=venue, step=key, is_critical=starter.is_critical, **starter.texts)
        for key, starter in starter_steps().items()
    ]
    for step in steps:
        create(step, by=by, action="HACCP step adopted")
    return steps


def amend_step(
    *,
    step: HaccpStep,
    changes: Mapping[str, Any],
    reason: str,
    seen_sequence: int,
    by: Recorder,
) -> Entry | None:
    """Change what is said of a step; what it said first stays in the ledger."""
    return amend(step, changes, by=by, reason=reason, seen_sequence=seen_sequence)
