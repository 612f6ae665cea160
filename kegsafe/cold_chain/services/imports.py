"""Taking in a logger's file: whole or not at all, once, and with what it says as the record."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import islice
from typing import Any, BinaryIO

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cold_chain.log_file import (
    BadRow,
    LogReader,
    LogReading,
    LogShape,
    Sniffed,
    UnreadableLog,
    read,
)
from kegsafe.cold_chain.models import (
    ImportedBadRow,
    ImportedLog,
    LogFile,
    LoggedReading,
    Logger,
)
from kegsafe.cold_chain.services.log_store import Put, put_readings, take_place, write_hours
from kegsafe.equipment.models import Place
from kegsafe.ledger.services import Recorder, amend, create, take_turn

BAD_ROWS_KEPT = 500
_ROWS_AT_ONCE = 20_000
_HASHED_AT_ONCE = 1 << 20
_CLOCK_MAY_LEAD = timedelta(minutes=5)  # a logger's clock drifts; common practice, no source
_KEPT_FOR = timedelta(days=1)
_LONGEST_NAME = 160

Progress = Callable[[int], None]


class DoubtfulLog(Exception):
    """The file may be misread as a whole: nothing was kept, and somebody must look.

    `doubts` are the sentences to show.
    """

    def __init__(self, doubts: Iterable[str]) -> None:
        self.doubts = tuple(doubts)
        super().__init__(" ".join(self.doubts))


@dataclass(frozen=True, slots=True)
class Imported:
    """The record of an import; `is_new` is False where the same file was in already."""

    log: ImportedLog
    is_new: bool


@dataclass(slots=True)
class _Counted:
    put: Put = field(default_factory=Put)
    bad_rows: list[BadRow] = field(default_factory=list)


def sha256_of(stream: BinaryIO) -> str:
    """Return the hash of a file from its beginning, and leave the file at its beginning."""
    stream.seek(0)
    digest = hashlib.sha256()
    while piece := stream.read(_HASHED_AT_ONCE):
        digest.update(piece)
    stream.seek(0)
    return digest.hexdigest()


def remembered(sniffed: Sniffed, kept: Mapping[str, Any] | None) -> LogShape:
    """Return a shape with the answers given for this logger's last file, where its layout is same.

    What the file itself says is never overruled.
    """
    shape = sniffed.shape
    if not kept:
        return shape
    try:
        known = LogShape.from_json(kept)
    except UnreadableLog:
        return shape
    layout = ("separator", "width", "column_names", "has_offset", "is_twelve_hour")
    if any(getattr(shape, name) != getattr(known, name) for name in layout):
        return shape
    answers = {
        asked.field: getattr(known, asked.field)
        for asked in sniffed.questions
        if not asked.choices or getattr(known, asked.field) in dict(asked.choices)
    }
    return shape.chosen(**answers)


def import_log(
    *,
    place: Place,
    stream: BinaryIO,
    name: str,
    shape: LogShape,
    by: Recorder,
    logger: Logger | None = None,
    accept_doubts: bool = False,
    progress: Progress | None = None,
) -> Imported:
    """Take in every good row of a file, in one transaction and in bounded memory.

    shape : whole
    progress : told the bytes read so far

    Raises DoubtfulLog, keeping nothing, where the file may be misread as a whole and nobody
    has accepted that; UnreadableLog where it cannot be read; ValidationError where it holds no
    good row.
    """
    if logger is not None and logger.place_id != place.pk:
        raise ValueError("a logger's file goes to the place of that logger")
    sha256 = sha256_of(stream)
    with transaction.atomic():
        take_turn(by)
        take_place(place)
        known = ImportedLog.objects.filter(place=place, sha256=sha256).first()
        if known is not None:
            return Imported(known, is_new=False)
        until = timezone.now() + _CLOCK_MAY_LEAD
        reader = read(stream, shape, int(until.timestamp()))
        counted = _put_all(place, reader, stream, progress)
        if reader.doubts and not accept_doubts:
            raise DoubtfulLog(reader.doubts)
        if not reader.good:
            raise ValidationError(_nothing_good(counted.bad_rows))
        log = _record(place, logger, reader, counted, by, sha256=sha256, name=name)
        _remember(logger, shape, name, by)
    return Imported(log, is_new=True)


def _put_all(
    place: Place, reader: LogReader, stream: BinaryIO, progress: Progress | None
) -> _Counted:
    counted = _Counted()
    rows = iter(reader)
    source = LoggedReading.Source.FILE.value
    while chunk := _chunk(rows, counted):
        put_readings(place.pk, chunk, source, counted.put)
        if progress is not None:
            progress(stream.tell())
    write_hours(place.pk, counted.put)
    return counted


def _chunk(rows: Iterator[LogReading | BadRow], counted: _Counted) -> dict[int, int]:
    """Return the next readings by their second, the warmer of two for one; empty at the end."""
    chunk: dict[int, int] = {}
    while not chunk and (taken := list(islice(rows, _ROWS_AT_ONCE))):
        for row in taken:
            if isinstance(row, BadRow):
                if len(counted.bad_rows) < BAD_ROWS_KEPT:
                    counted.bad_rows.append(row)
                continue
            _line, at_s, centi_degc = row
            known = chunk.setdefault(at_s, centi_degc)
            if known != centi_degc:
                counted.put.clashed += 1
                chunk[at_s] = max(known, centi_degc)
    return chunk


def _nothing_good(bad_rows: list[BadRow]) -> str:
    if not bad_rows:
        return "The file holds no readings."
    first = bad_rows[0]
    return f"No row could be read. The first is line {first.line}: {first.reason}"


def _record(
    place: Place,
    logger: Logger | None,
    reader: LogReader,
    counted: _Counted,
    by: Recorder,
    **of_file: str,
) -> ImportedLog:
    put = counted.put
    log = ImportedLog(
        place=place,
        logger=logger,
        sha256=of_file["sha256"],
        name=_shown(of_file["name"]),
        shape=reader.shape.as_json(),
        good=reader.good,
        bad=reader.bad,
        added=put.added,
        # What one file says twice counts as on record already.
        repeated=reader.good - put.added - put.clashed,
        clashed=put.clashed,
        first_s=put.first_s,
        last_s=put.last_s,
        notices=reader.notices,
        doubts_accepted=reader.doubts,
        imported_at=timezone.now(),
        imported_by=by.person,
    )
    create(log, by=by, action="imported")
    ImportedBadRow.objects.bulk_create(
        ImportedBadRow(log=log, line=row.line, text=_plain(row.text), reason=_plain(row.reason))
        for row in counted.bad_rows
    )
    return log


def _remember(logger: Logger | None, shape: LogShape, name: str, by: Recorder) -> None:
    if logger is not None:
        # Through JSON, tuples come back as lists: compare like with like.
        kept = {key: list(v) if isinstance(v, tuple) else v for key, v in shape.as_json().items()}
        reason = f"as its file {_shown(name)} was read"
        amend(logger, {"shape": kept}, by=by, reason=reason, action="layout remembered")


def _shown(name: str) -> str:
    """Return a file's name as it can stand on a page and in the ledger."""
    return "".join(each for each in name if each.isprintable())[-_LONGEST_NAME:] or "log"


def _plain(text: str) -> str:
    """Return text a database takes: PostgreSQL keeps no NUL."""
    return text.replace("\x00", "\ufffd")[:300]


@transaction.atomic
def keep_log_file(
    *, place: Place, logger: Logger | None, name: str, content: bytes, by: Recorder
) -> LogFile:
    """Keep a file until it is looked at and imported; those of more than a day ago are let go."""
    LogFile.objects.filter(
        place__venue=place.venue_id, sent_at__lt=timezone.now() - _KEPT_FOR
    ).delete()
    return LogFile.objects.create(
        place=place, logger=logger, name=_shown(name), content=content, sent_by=by.person
    )
