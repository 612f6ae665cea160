"""Making and ending the link an inspector reads a pack by, and recording that it was opened."""

from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.frame.tokens import new_token, token_hash
from kegsafe.inspection.models import InspectionPack, InspectorLink, LinkOpening
from kegsafe.ledger.services import Recorder, create, record, take_turn

LONGEST_DAYS = 90
# Whoever has the link could fill the ledger by reloading: within this time one opening counts.
_SAME_OPENING = timedelta(seconds=60)


@transaction.atomic
def make_link(
    *, pack: InspectionPack, reader: str, days: int, by: Recorder
) -> tuple[InspectorLink, str]:
    """Make a link to a pack; return it with its secret, which is shown once and never kept.

    Raises ValidationError for a time below one day or above 90.
    """
    if not 1 <= days <= LONGEST_DAYS:
        raise ValidationError({"days": f"A link lasts from 1 to {LONGEST_DAYS} days: 7, say."})
    token, now = new_token(), timezone.now()
    link = InspectorLink(
        pack=pack,
        reader=reader.strip(),
        token_hash=token_hash(token),
        made_by=by.person,
        made_at=now,
        ends_at=now + timedelta(days=days),
    )
    create(link, by=by, action="inspector's link made")
    return link, token


@transaction.atomic
def end_link(*, link: InspectorLink, by: Recorder) -> InspectorLink:
    """End a link at once, for good."""
    take_turn(by)
    locked = InspectorLink.objects.select_for_update().get(pk=link.pk)
    if locked.ended_at is None:
        locked.ended_at, locked.ended_by = timezone.now(), by.person
        locked.full_clean()
        locked.save()
        record(locked, by=by, action="inspector's link ended")
    return locked


def open_link(token: str, part: str, now: datetime) -> InspectorLink | None:
    """Return the link of a secret, with its pack and venue, and record that it was opened.

    None where there is none, or where it has ended: both are simply not there.
    """
    link = (
        InspectorLink.objects.filter(token_hash=token_hash(token))
        .select_related("pack__venue")
        .first()
    )
    if link is None or not link.is_open(now):
        return None
    _record_opening(link, part, now)
    return link


@transaction.atomic
def _record_opening(link: InspectorLink, part: str, now: datetime) -> None:
    by = Recorder(chain_key=link.pack.venue.chain_id, person=str(link)[:150])
    take_turn(by)
    newest = link.openings.filter(part=part).first()
    if newest is None or now - newest.opened_at >= _SAME_OPENING:
        opening = LinkOpening(link=link, part=part, opened_at=now)
        create(opening, by=by, action="inspector's link opened")
