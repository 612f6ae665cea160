"""Keeping a file about pressure equipment."""

from django.db import transaction
from django.utils import timezone

from kegsafe.equipment.models import Keg
from kegsafe.frame.documents import NewDocument, facts_of, written
from kegsafe.ledger.services import Recorder, create
from kegsafe.pressure.models import Document, GasRoom, Item
from kegsafe.pressure.services.places import require_venue
from kegsafe.venues.models import Venue


@transaction.atomic
def keep_document(
    *,
    venue: Venue,
    item: Item | None = None,
    keg: Keg | None = None,
    room: GasRoom | None = None,
    kind: str,
    sent: NewDocument,
    by: Recorder,
) -> Document:
    """Keep a photograph, certificate or report.

    Raises ValidationError for what is no PDF, PNG or JPEG by its content, is too large or
    has too many dots; then nothing is stored.
    """
    require_venue(venue.pk, item, keg, room)
    document = Document(
        venue=venue,
        item=item,
        keg=keg,
        room=room,
        kind=kind,
        sent_by=by.person,
        sent_at=timezone.now(),
        **facts_of(sent),
    )
    document.full_clean()
    with written(document, sent.content):
        create(document, by=by, action="document kept")
    return document
