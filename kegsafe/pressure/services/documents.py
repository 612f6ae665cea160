"""Keeping a file: looked at by its content, stored under a random name outside the web root."""

import os
import secrets
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from kegsafe.equipment.models import Keg
from kegsafe.ledger.services import Recorder, create
from kegsafe.pressure.models import Document, GasRoom, Item
from kegsafe.pressure.services.places import require_venue
from kegsafe.pressure.uploads import content_type_of, shown_name
from kegsafe.venues.models import Venue


@dataclass(frozen=True, slots=True)
class NewDocument:
    """A file as it was sent: the name it came with, and its bytes."""

    name: str
    content: bytes


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
    content_type = content_type_of(sent.content)
    stored_as = secrets.token_hex(16)
    document = Document(
        venue=venue,
        item=item,
        keg=keg,
        room=room,
        kind=kind,
        name=shown_name(sent.name, content_type),
        content_type=content_type,
        size=len(sent.content),
        sha256=sha256(sent.content).hexdigest(),
        stored_as=stored_as,
        sent_by=by.person,
        sent_at=timezone.now(),
    )
    document.full_clean()
    path = stored_path(document)
    _write_new(path, sent.content)
    try:
        create(document, by=by, action="document kept")
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return document


def stored_path(document: Document) -> Path:
    """Return where the bytes lie. The name is ours; nothing a person typed is part of it."""
    return settings.DATA_DIR / "documents" / document.stored_as


def _write_new(path: Path, content: bytes) -> None:
    path.parent.mkdir(mode=0o700, exist_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
