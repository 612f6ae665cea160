"""Keeping the documents that came in: under the name their record gives, if it is one of ours."""

import re
from contextlib import ExitStack

from kegsafe.exports.moving.archive import Archive
from kegsafe.exports.moving.belongings import belongings
from kegsafe.exports.moving.manifest import CannotMoveIn, Member
from kegsafe.exports.moving.packing import document_member
from kegsafe.frame.documents import KeptDocument, written
from kegsafe.venues.models import Venue

LARGEST_DOCUMENT = 64 * 1024**2
# What is made into a path is held against this, whoever made the file: no dot, no slash.
_STORED_AS = re.compile("[A-Za-z0-9_-]{1,64}", re.ASCII)


def keep_documents(venue: Venue, archive: Archive, kept: ExitStack) -> int:
    """Write the bytes of each kept document and return how many there are.

    `kept` takes them away again when what follows fails. Raises CannotMoveIn for bytes that are
    not what the record says, for a document without bytes and for bytes without a document.
    """
    inside = {member.name: member for member in archive.manifest.members if not member.model}
    count = 0
    for belonging in belongings():
        if issubclass(belonging.model, KeptDocument):
            for document in belonging.rows(venue).iterator(chunk_size=500):
                count += _keep(document, archive, inside, kept)
    if inside:
        raise CannotMoveIn(f"{min(inside)} is inside, and no record is about it.")
    return count


def _keep(
    document: KeptDocument, archive: Archive, inside: dict[str, Member], kept: ExitStack
) -> int:
    """Return 1 for a document that was kept, 0 for one that was missing when it was packed."""
    if not _STORED_AS.fullmatch(document.stored_as):
        raise CannotMoveIn(f"{document.stored_as!r:.80} is no name that a document is kept under.")
    member = inside.pop(document_member(document.stored_as), None)
    if member is None:
        if document.stored_as in archive.manifest.missing:
            return 0
        raise CannotMoveIn(f'The document "{document.name}" is not in the file.')
    is_as_recorded = (member.sha256, member.size) == (document.sha256, document.size)
    if not is_as_recorded or member.size > LARGEST_DOCUMENT:
        raise CannotMoveIn(f'The document "{document.name}" is not what its record says.')
    try:
        kept.enter_context(written(document, b"".join(archive.blocks(member))))
    except FileExistsError:
        raise CannotMoveIn(f'A document "{document.stored_as}" is here already.') from None
    return 1
