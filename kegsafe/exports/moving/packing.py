"""Packing a venue: every record, every kept file, and the hash of each, in one ZIP file."""

import json
import zipfile
from collections.abc import Iterable, Iterator
from hashlib import file_digest, sha256
from typing import IO

from django.utils import timezone

from kegsafe.exports.moving.belongings import Belonging, belongings
from kegsafe.exports.moving.manifest import NAME, Manifest, Member
from kegsafe.exports.moving.written_values import written
from kegsafe.frame.kept_files import KeepsFiles, KeptFile
from kegsafe.frame.snapshot import as_of_now
from kegsafe.ledger.models import Chain
from kegsafe.venues.models import Venue

_ROWS_AT_ONCE = 2_000
_BYTES_AT_ONCE = 1024 * 1024
# The moment stands in the manifest; here the same for all, so that equal members are equal bytes.
_NO_DATE = (1980, 1, 1, 0, 0, 0)


def record_member(label: str) -> str:
    """Return where the records of a model lie in the file."""
    return f"records/{label}.jsonl"


def file_member(file: KeptFile) -> str:
    """Return where a kept file lies in the file."""
    return f"files/{file.folder}/{file.name}"


def pack(venue: Venue, out: IO[bytes]) -> Manifest:
    """Write a venue's file and return its manifest, which is the last thing written.

    All of it is read as the database stood at one moment; nobody who records waits for it.
    Memory does not grow with the log. Raises LeadsToNoVenue when a model was forgotten.
    """
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive, as_of_now():
        chain = Chain.objects.get(pk=venue.chain_id)
        members: list[Member] = []
        missing: list[str] = []
        for belonging in belongings():
            members.append(_pack_records(archive, belonging, venue))
            if issubclass(belonging.model, KeepsFiles):
                for file in _files(belonging, venue):
                    if _is_as_kept(file):
                        members.append(_pack_file(archive, file))
                    else:
                        missing.append(file_member(file))
        manifest = Manifest(
            venue=venue.name,
            made_at=timezone.now().isoformat(timespec="seconds"),
            chain=chain.key,
            entries=chain.head_sequence,
            head=chain.head_hash,
            members=tuple(members),
            missing=tuple(missing),
        )
        archive.writestr(_info(NAME), manifest.as_json())
    return manifest


def _pack_records(archive: zipfile.ZipFile, belonging: Belonging, venue: Venue) -> Member:
    name = record_member(belonging.label)
    rows = belonging.rows(venue).values_list(*belonging.columns)
    count = 0

    def lines() -> Iterator[bytes]:
        nonlocal count
        for row in rows.iterator(chunk_size=_ROWS_AT_ONCE):
            count += 1
            values = dict(zip(belonging.columns, map(written, row), strict=True))
            text = json.dumps(values, separators=(",", ":"), allow_nan=False)
            yield f"{text}\n".encode("ascii")

    size, digest = _write(archive, name, _in_blocks(lines()))
    return Member(name, size, digest, belonging.label, belonging.columns, count)


def _files(belonging: Belonging, venue: Venue) -> Iterator[KeptFile]:
    for record in belonging.rows(venue).iterator(chunk_size=_ROWS_AT_ONCE):
        yield from record.kept_files()


def _is_as_kept(file: KeptFile) -> bool:
    """Say whether the bytes are there and are those that were once kept."""
    try:
        with file.path.open("rb") as content:
            return file_digest(content, "sha256").hexdigest() == file.sha256
    except OSError:
        return False


def _pack_file(archive: zipfile.ZipFile, file: KeptFile) -> Member:
    name = file_member(file)
    with file.path.open("rb") as content:
        return Member(name, *_write(archive, name, _blocks(content)))


def _write(archive: zipfile.ZipFile, name: str, blocks: Iterable[bytes]) -> tuple[int, str]:
    size, digest = 0, sha256()
    with archive.open(_info(name), "w", force_zip64=True) as member:
        for block in blocks:
            member.write(block)
            digest.update(block)
            size += len(block)
    return size, digest.hexdigest()


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, _NO_DATE)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    return info


def _in_blocks(lines: Iterable[bytes]) -> Iterator[bytes]:
    block = bytearray()
    for line in lines:
        block += line
        if len(block) >= _BYTES_AT_ONCE:
            yield bytes(block)
            block.clear()
    yield bytes(block)


def _blocks(file: IO[bytes]) -> Iterator[bytes]:
    while block := file.read(_BYTES_AT_ONCE):
        yield block
