"""Making a pack: everything read as of one moment, drawn, signed and kept.

Drawing a year takes longer than a web server may keep a person waiting, so the site makes packs
in a thread of its own process. No queue is needed for a thing that is done twice a month: the
row of the work says how far it is, and its beat says whether anybody still works on it.
"""

import logging
import secrets
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from django.db import Error, connection
from django.utils import timezone

from kegsafe.frame.snapshot import as_of_now
from kegsafe.inspection import storage
from kegsafe.inspection.evidence import gather
from kegsafe.inspection.keys import KeyUnreadable, identity_of
from kegsafe.inspection.models import InspectionPack, PackWork
from kegsafe.inspection.row_files import RowFiles
from kegsafe.inspection.scope import Scope
from kegsafe.inspection.sections import chosen
from kegsafe.inspection.services import finish, record_pack, set_failed
from kegsafe.inspection.signing import sign
from kegsafe.inspection.writing import Progress, Written, write_pack
from kegsafe.ledger.models import Chain
from kegsafe.ledger.services import Recorder
from kegsafe.venues.models import Venue

_LOG = logging.getLogger(__name__)
_TROUBLE = "Something went wrong inside. The log of the server says what; nothing was recorded."


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a pack is to be: days of the venue, keys of sections, a key of the papers."""

    venue: Venue
    first: date
    last: date
    sections: tuple[str, ...]
    paper: str
    by: Recorder


def start(work: PackWork) -> threading.Thread:
    """Begin the work in the background; it ends with the process at the latest."""
    thread = threading.Thread(target=_in_background, args=(work.pk,), daemon=True)
    thread.start()
    return thread


def _in_background(work: int) -> None:
    try:
        do(PackWork.objects.select_related("venue").get(pk=work))
    finally:
        connection.close()


def do(work: PackWork) -> None:
    """Make the pack that was ordered, and say in the row of the work what came of it."""
    claimed = PackWork.objects.filter(pk=work.pk, state=PackWork.State.WAITING)
    if not claimed.update(state=PackWork.State.MAKING, beat_at=timezone.now()):
        return
    wanted = Wanted(
        venue=work.venue,
        first=work.first,
        last=work.last,
        sections=tuple(work.sections),
        paper=work.paper,
        by=Recorder(chain_key=work.venue.chain_id, person=work.ordered_by),
    )
    try:
        with _beating(work) as said:
            pack = make(wanted, said)
    except KeyUnreadable as locked:
        set_failed(work, str(locked))
    except Exception:
        _LOG.exception("The pack %s was not made.", work.pk)
        set_failed(work, _TROUBLE)
    else:
        finish(work, pack)


def make(wanted: Wanted, progress: Progress = lambda *_: None) -> InspectionPack:
    """Make a pack and keep it: drawn as of one moment, signed, recorded with its hashes.

    Raises KeyUnreadable when the venue's key does not open; nothing is kept then.
    """
    stored_as = secrets.token_hex(16)
    pdf = storage.unfinished(stored_as, storage.PDF)
    rows = storage.unfinished(stored_as, storage.ROWS)
    try:
        made_at = timezone.now()
        storage.sweep(made_at.timestamp())
        chain, written = _draw(wanted, made_at, pdf, rows, progress)
        pack = _pack_of(wanted, made_at, chain, written, stored_as)
        _measure(pack, storage.keep(pdf), storage.keep(rows))
        return record_pack(pack, by=wanted.by)
    except BaseException:
        for path in (pdf, rows):
            path.unlink(missing_ok=True)
            path.with_suffix("").unlink(missing_ok=True)
        raise


def _draw(
    wanted: Wanted, made_at: datetime, pdf: Path, rows: Path, progress: Progress
) -> tuple[Chain, Written]:
    venue = wanted.venue
    with rows.open("wb") as zipped, RowFiles(zipped, made_at) as files:
        with as_of_now(), timezone.override(venue.zone), pdf.open("wb") as out:
            chain = Chain.objects.get(pk=venue.chain_id)
            scope = Scope(venue, wanted.first, wanted.last, made_at, wanted.by.person, chain)
            sections = chosen(wanted.sections)
            written = write_pack(
                scope, sections, out, paper=wanted.paper, files=files, progress=progress
            )
        _sign(wanted, made_at, chain, written, pdf)
        files.add_pack(pdf)
    return chain, written


def _sign(wanted: Wanted, made_at: datetime, chain: Chain, written: Written, pdf: Path) -> None:
    """Put the signed pack in the place of the drawn one."""
    venue = wanted.venue
    evidence = gather(
        chain, written.subjects, venue=venue.name, first=wanted.first, last=wanted.last
    )
    identity = identity_of(venue, at=made_at, by=wanted.by)
    title = f"Inspection pack {wanted.first} to {wanted.last}"
    with pdf.open("rb") as unsigned:
        signed = sign(unsigned, evidence.as_bytes(), identity=identity, title=title)
    pdf.write_bytes(signed.getbuffer())


def _pack_of(
    wanted: Wanted, made_at: datetime, chain: Chain, written: Written, stored_as: str
) -> InspectionPack:
    return InspectionPack(
        venue=wanted.venue,
        first=wanted.first,
        last=wanted.last,
        sections=list(wanted.sections),
        paper=wanted.paper,
        made_by=wanted.by.person,
        made_at=made_at,
        head_sequence=chain.head_sequence,
        head_hash=chain.head_hash,
        counts=written.counts,
        pages=written.pages,
        stored_as=stored_as,
    )


def _measure(pack: InspectionPack, pdf: Path, rows: Path) -> None:
    pack.size, pack.sha256 = pdf.stat().st_size, storage.sha256_of(pdf)
    pack.rows_size, pack.rows_sha256 = rows.stat().st_size, storage.sha256_of(rows)


@contextmanager
def _beating(work: PackWork) -> Iterator[Progress]:
    """Write into the row of the work how far it is, every other second, while it goes on.

    By a connection of its own: the work itself reads as of one moment and writes nothing.
    """
    said: dict[str, object] = {}
    is_over = threading.Event()

    def progress(part: str, done: int, parts: int) -> None:
        said.update(part=part, parts_done=done, parts=parts)

    def beat() -> None:
        while not is_over.wait(PackWork.BEATS_EVERY.total_seconds()):
            try:
                PackWork.objects.filter(pk=work.pk).update(beat_at=timezone.now(), **said)
            except Error:
                _LOG.warning("How far the pack %s is could not be written down.", work.pk)
        connection.close()

    beating = threading.Thread(target=beat, daemon=True)
    beating.start()
    try:
        yield progress
    finally:
        is_over.set()
        beating.join()
