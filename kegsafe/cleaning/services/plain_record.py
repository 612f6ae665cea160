"""Recording a clean, and amending the record of one."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cleaning.models import CleaningRecord
from kegsafe.equipment.models import Keg, Line, Service, Use
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.venues.models import Venue


@transaction.atomic
def record_clean(
    *,
    venue: Venue,
    keg: Keg | None = None,
    line: Line | None = None,
    cleaned_at: datetime,
    method: str,
    sanitised: bool,
    is_allergen_clean: bool,
    verification: str,
    by: Recorder,
) -> CleaningRecord:
    """Store one clean of one keg or one line.

    Raises ValidationError for a time in the future, a keg that held a drink at
    that time, and a line that a keg was on: what is full is not clean inside.
    """
    if (keg is None) == (line is None):
        raise ValueError("a clean is of one keg or of one line")
    item = keg or line
    if item.venue_id != venue.pk:
        raise ValueError(f"{item} belongs to another venue")
    # Locked, so that nobody fills it while its clean is written down.
    item = type(item).objects.select_for_update().get(pk=item.pk)
    _check_may_be_clean(item, cleaned_at)
    clean = CleaningRecord(
        venue=venue,
        keg=keg,
        line=line,
        cleaned_at=cleaned_at,
        method=method.strip(),
        sanitised=sanitised,
        is_allergen_clean=is_allergen_clean,
        verification=verification,
        recorded_by=by.person,
    )
    create(clean, by=by, action="cleaned")
    return clean


@transaction.atomic
def record_cleans(
    *, venue: Venue, items: Sequence[Keg | Line], by: Recorder, **what_was_done: Any
) -> list[CleaningRecord]:
    """Store the same clean of several kegs and lines, one record each: all of them or none."""
    return [
        record_clean(
            venue=venue,
            keg=item if isinstance(item, Keg) else None,
            line=item if isinstance(item, Line) else None,
            by=by,
            **what_was_done,
        )
        for item in items
    ]


@transaction.atomic
def amend_clean(
    *,
    clean: CleaningRecord,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what a record of a clean says; what it said first is kept."""
    cleaned_at = changes.get("cleaned_at", clean.cleaned_at)
    if cleaned_at != clean.cleaned_at:
        _check_may_be_clean(clean.keg or clean.line, cleaned_at)
    return amend(clean, changes, by=by, reason=reason, seen_sequence=seen_sequence)


def _check_may_be_clean(item: Keg | Line, cleaned_at: datetime) -> None:
    if cleaned_at > timezone.now():
        raise ValidationError({"cleaned_at": "This time is still to come. Record what was done."})
    if item.service == Service.SCRAPPED:
        raise ValidationError(f"{item} was scrapped.")
    held = item.uses.filter(began_at__lte=cleaned_at).order_by("-began_at").first()
    if held and (held.ended_at is None or held.ended_at > cleaned_at):
        raise ValidationError(_still_holds(item, held))


def _still_holds(item: Keg | Line, held: Use) -> str:
    if held.ended_at is not None:
        return f"{item} held {held.drink} at that time. Give the time it was cleaned after that."
    if isinstance(item, Keg):
        return f"{item} still holds {held.drink}: empty it first."
    return f"{item} still carries {held.drink}: take the keg off this line first."
