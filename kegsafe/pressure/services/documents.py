"""Keeping a file about pressure equipment, and a photograph of what a check found."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.equipment.models import Keg
from kegsafe.frame.document_types import PDF
from kegsafe.frame.documents import NewDocument, facts_of, written
from kegsafe.ledger.services import Recorder, create
from kegsafe.pressure.models import Check, CheckPhotograph, Document, GasRoom, Item
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


@transaction.atomic
def keep_check_photograph(*, check: Check, sent: NewDocument, by: Recorder) -> CheckPhotograph:
    """Keep a photograph of what was seen at a check.

    Raises ValidationError for what is no PNG or JPEG by its content, is too large or has too
    many dots; then nothing is stored.
    """
    facts = facts_of(sent)
    if facts["content_type"] == PDF:
        refused = "This is a PDF. Send a photograph as JPEG or PNG; papers are kept with the item."
        raise ValidationError({"file": refused})
    photograph = CheckPhotograph(of_check=check, sent_by=by.person, sent_at=timezone.now(), **facts)
    photograph.full_clean()
    with written(photograph, sent.content):
        create(photograph, by=by, action="photograph kept")
    return photograph
