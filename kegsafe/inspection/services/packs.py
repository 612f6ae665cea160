"""Ordering a pack, recording it once it is whole, and saying when its work came to nothing."""

from datetime import date, datetime, timedelta

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from kegsafe.inspection.models import InspectionPack, PackWork
from kegsafe.ledger.services import Recorder, create
from kegsafe.venues.models import Venue

LONGEST = timedelta(days=3 * 366)
_DIED = "The server was restarted while it was being made. Nothing was recorded: make it again."


def order_pack(
    *, venue: Venue, first: date, last: date, sections: list[str], paper: str, by: Recorder
) -> PackWork:
    """Order a pack for days of the venue, both of them in it.

    Raises ValidationError for a period that is none, lies ahead or is longer than three years,
    and while another pack of the venue is being made.
    """
    now = timezone.now()
    check_period(first, last, venue.local(now).date())
    bury_the_dead(venue, now)
    work = PackWork(
        venue=venue,
        first=first,
        last=last,
        sections=sections,
        paper=paper,
        ordered_by=by.person,
        ordered_at=now,
        beat_at=now,
    )
    work.full_clean()
    try:
        with transaction.atomic():
            work.save(force_insert=True)
    except IntegrityError as taken:
        raise ValidationError("A pack is being made already: wait for it.") from taken
    return work


def check_period(first: date, last: date, today: date) -> None:
    """Raise ValidationError, at the field, for a period that no pack can be about."""
    if last < first:
        raise ValidationError({"last": f"The last day, {last}, is before the first, {first}."})
    if first > today:
        raise ValidationError({"first": f"{first} lies ahead. Today is {today}."})
    if last - first > LONGEST:
        raise ValidationError(
            {"first": f"{(last - first).days + 1} days are too long. Three years are the most."}
        )


def record_pack(pack: InspectionPack, *, by: Recorder) -> InspectionPack:
    """Record a pack whose files are whole."""
    pack.full_clean()
    create(pack, by=by, action="inspection pack made")
    return pack


def finish(work: PackWork, pack: InspectionPack) -> None:
    """Say that the work is done."""
    _end(work, state=PackWork.State.DONE, pack=pack, parts_done=max(work.parts, 1))


def set_failed(work: PackWork, trouble: str) -> None:
    """Say that the work came to nothing, and why."""
    _end(work, state=PackWork.State.FAILED, trouble=trouble[:300])


def bury_the_dead(venue: Venue, now: datetime) -> None:
    """Say of work whose process is gone that it came to nothing."""
    silent = PackWork.objects.filter(
        venue=venue, state__in=PackWork.UNDER_WAY, beat_at__lt=now - PackWork.DEAD_AFTER
    )
    silent.update(state=PackWork.State.FAILED, trouble=_DIED)


def _end(work: PackWork, **values: object) -> None:
    """Only of work that is under way: what was given up for dead may come to an end after all."""
    PackWork.objects.filter(pk=work.pk).exclude(state=PackWork.State.DONE).update(**values)
