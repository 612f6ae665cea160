"""Keeping the files that came in: under the name their record gives, if it is one of ours."""

import re
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

from kegsafe.exports.moving.archive import Archive
from kegsafe.exports.moving.belongings import belongings
from kegsafe.exports.moving.manifest import CannotMoveIn, Member
from kegsafe.exports.moving.packing import file_member
from kegsafe.frame.kept_files import KeepsFiles, KeptFile, write_new
from kegsafe.venues.models import Venue

_ROWS_AT_ONCE = 500
# What is made into a path is held against this, whoever made the file: no slash, no dot first.
_NAME = re.compile(r"[A-Za-z0-9_-]{1,64}(?:\.[a-z0-9]{1,8})?", re.ASCII)


def keep_files(venue: Venue, archive: Archive, kept: ExitStack) -> int:
    """Write the files that the venue's records keep, and return how many there are.

    `kept` takes them away again when what follows fails. Raises CannotMoveIn for bytes that are
    not what the record says, for a record without its bytes and for bytes without a record.
    """
    inside = {member.name: member for member in archive.manifest.members if not member.model}
    count = 0
    for belonging in belongings():
        if issubclass(belonging.model, KeepsFiles):
            for record in belonging.rows(venue).iterator(chunk_size=_ROWS_AT_ONCE):
                for file in record.kept_files():
                    count += _keep(file, str(record), archive, inside, kept)
    if inside:
        raise CannotMoveIn(f"{min(inside)} is inside, and no record is about it.")
    return count


def _keep(
    file: KeptFile, of: str, archive: Archive, inside: dict[str, Member], kept: ExitStack
) -> int:
    """Return 1 for a file that was kept, 0 for one that was missing when it was packed."""
    if not _NAME.fullmatch(file.name):
        raise CannotMoveIn(f"{file.name!r:.80} is no name that a file is kept under.")
    name = file_member(file)
    member = inside.pop(name, None)
    if member is None:
        if name in archive.manifest.missing:
            return 0
        raise CannotMoveIn(f"{name} ({of}) is not in the file.")
    if (member.sha256, member.size) != (file.sha256, file.size):
        raise CannotMoveIn(f"{name} ({of}) is not what its record says.")
    try:
        write_new(file.path, archive.blocks(member))
    except FileExistsError:
        raise CannotMoveIn(f"{name} is here already.") from None
    kept.enter_context(_taken_away_if_it_fails(file))
    return 1


@contextmanager
def _taken_away_if_it_fails(file: KeptFile) -> Iterator[None]:
    try:
        yield
    except BaseException:
        file.path.unlink(missing_ok=True)
        raise
