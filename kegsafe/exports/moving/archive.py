"""Reading the file a venue moves in, which may come from anybody: looked at whole before any use.

Nothing is ever unpacked to a path: members are read as streams, by names known beforehand.
"""

import json
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from kegsafe.exports.moving.manifest import NAME, CannotMoveIn, Manifest, Member, read_manifest

MOST_MEMBERS = 100_000
LARGEST_MANIFEST = 32 * 1024**2
# A row with the largest upload in it, as Base64.
LONGEST_LINE = 40 * 1024**2
# Readings shrink to about a tenth. A file that grows far beyond is built to fill a disk.
MOST_BYTES = 64 * 1024**3
MOST_TIMES_LARGER = 100
ALWAYS_ALLOWED_BYTES = 100 * 1024**2

_BYTES_AT_ONCE = 1024 * 1024
_NAMES = re.compile(
    r"manifest\.json|records/[a-z_]+\.[a-z0-9_]+\.jsonl|files/[a-z_]+/[A-Za-z0-9_-]{1,64}(?:\.[a-z0-9]{1,8})?"
)
_IS_ENCRYPTED = 0x1
_DAMAGED = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    OSError,
    OverflowError,
    RuntimeError,
    UnicodeError,
    struct.error,
    ValueError,
)


@dataclass
class Archive:
    """A file whose members are what its manifest says they are.

    Opening it reads it through once: names, sizes and hashes. Raises CannotMoveIn.
    """

    path: Path
    manifest: Manifest = field(init=False)

    def __enter__(self) -> Self:
        with _damage_told(self.path.name):
            self._zip = zipfile.ZipFile(self.path)
        try:
            with _damage_told(self.path.name):
                self._look_over()
        except BaseException:
            self._zip.close()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._zip.close()

    def records(self, member: Member) -> Iterator[dict[str, Any]]:
        """Yield the rows of a member, each with the columns that the manifest names."""
        columns = set(member.columns)
        count = 0
        with self._zip.open(member.name) as file:
            while line := file.readline(LONGEST_LINE + 1):
                count += 1
                row = _row(line, f"{member.name}, line {count}")
                if row.keys() != columns:
                    raise CannotMoveIn(f"{member.name}, line {count}: not the columns it names.")
                yield row
        if count != member.rows:
            raise CannotMoveIn(f"{member.name} holds {count} rows and not {member.rows}.")

    def blocks(self, member: Member) -> Iterator[bytes]:
        """Yield the bytes of a member."""
        with self._zip.open(member.name) as file:
            while block := file.read(_BYTES_AT_ONCE):
                yield block

    def _look_over(self) -> None:
        inside = self._zip.infolist()
        self._check_names(inside)
        self._check_sizes(inside)
        if NAME not in self._zip.namelist():
            raise CannotMoveIn(f"There is no {NAME} inside: this is not a venue's file.")
        if self._zip.getinfo(NAME).file_size > LARGEST_MANIFEST:
            raise CannotMoveIn(f"{NAME} is larger than {LARGEST_MANIFEST // 1024**2} MB.")
        self.manifest = read_manifest(self._zip.read(NAME))
        self._check_members()

    def _check_names(self, inside: list[zipfile.ZipInfo]) -> None:
        if len(inside) > MOST_MEMBERS:
            raise CannotMoveIn(f"There are more than {MOST_MEMBERS} files inside.")
        names = [each.filename for each in inside]
        if len(set(names)) != len(names):
            raise CannotMoveIn("Two files inside have the same name.")
        for each in inside:
            if not _NAMES.fullmatch(each.filename):
                raise CannotMoveIn(f"{each.filename!r:.80} is no name of a venue's file.")
            if each.flag_bits & _IS_ENCRYPTED:
                raise CannotMoveIn(f"{each.filename} is encrypted.")

    def _check_sizes(self, inside: list[zipfile.ZipInfo]) -> None:
        """Read no byte before it is known that all of them are not too many."""
        unpacked = sum(each.file_size for each in inside)
        allowed = max(ALWAYS_ALLOWED_BYTES, MOST_TIMES_LARGER * self.path.stat().st_size)
        if unpacked > min(allowed, MOST_BYTES):
            raise CannotMoveIn(
                f"Unpacked it would be {unpacked // 1024**2} MB, which is out of all proportion."
            )

    def _check_members(self) -> None:
        named = {member.name for member in self.manifest.members}
        inside = set(self._zip.namelist()) - {NAME}
        if len(named) != len(self.manifest.members):
            raise CannotMoveIn(f"{NAME} names a file twice.")
        for name in sorted(named ^ inside)[:1]:
            where = "is inside, and the manifest does not name it" if name in inside else "is gone"
            raise CannotMoveIn(f"{name!r:.80} {where}.")
        for member in self.manifest.members:
            self._check_content(member)

    def _check_content(self, member: Member) -> None:
        if self._zip.getinfo(member.name).file_size != member.size:
            raise CannotMoveIn(f"{member.name} is not of the size the manifest says.")
        digest = sha256()
        for block in self.blocks(member):
            digest.update(block)
        if digest.hexdigest() != member.sha256:
            raise CannotMoveIn(f"{member.name} is not what was packed: its hash is another.")


@contextmanager
def _damage_told(name: str) -> Iterator[None]:
    try:
        yield
    except FileNotFoundError:
        raise CannotMoveIn(f"There is no file {name}.") from None
    except _DAMAGED as damage:
        raise CannotMoveIn(
            f"{name} is no ZIP file that can be read, or it was cut off ({damage})."
        ) from damage


def _row(line: bytes, where: str) -> dict[str, Any]:
    if len(line) > LONGEST_LINE:
        raise CannotMoveIn(f"{where} is longer than {LONGEST_LINE // 1024**2} MB.")
    try:
        row = json.loads(line)
    except (ValueError, RecursionError):
        raise CannotMoveIn(f"{where} is not JSON.") from None
    if not isinstance(row, dict):
        raise CannotMoveIn(f"{where} is no record.")
    return row
