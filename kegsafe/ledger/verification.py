"""Walking the chain: does every entry still say what it said, and the records what it says?"""

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256

from django.apps import apps
from django.db import connection, models

from kegsafe.ledger.canonical import entry_hash, snapshot
from kegsafe.ledger.models import GENESIS, Chain, Entry, Recorded

_ROWS_AT_ONCE = 5_000
_COLUMNS = (
    "sequence",
    "recorded_at_us",
    "person",
    "action",
    "subject",
    "previous_hash",
    "record",
    "detail",
    "hash",
)


@dataclass(frozen=True, slots=True)
class Broken:
    """The first place where a chain or a record does not say what it should."""

    chain: str
    sequence: int
    what: str


@dataclass(frozen=True, slots=True)
class ChainVerdict:
    """What walking one chain found."""

    chain: str
    entries: int
    head_hash: str
    broken: Broken | None


def verify_chain(chain: Chain) -> ChainVerdict:
    """Recompute every hash of a chain in order and stop at the first that is wrong.

    Finds a changed field, a changed hash, an entry taken out, put in, moved, or
    rewritten with a fitting hash, and a tail cut off while the head remembers it.
    """
    expected_previous, expected_sequence = GENESIS, 0
    for row in _stored_entries(chain.key):
        sequence, at, person, action, subject, previous, record, detail, digest = row
        expected_sequence += 1
        if sequence != expected_sequence:
            return _broken(chain, expected_sequence, f"entry {expected_sequence} is missing")
        text = (
            f"{chain.key}\n{sequence}\n{at}\n{person}\n{action}\n{subject}\n"
            f"{previous}\n{record}\n{detail}"
        )
        fits = sha256(text.encode()).hexdigest() == digest
        if previous != expected_previous:
            return _not_following(chain, sequence, fits=fits)
        if not fits:
            return _broken(chain, sequence, "its text is not the text that was hashed")
        expected_previous = digest
    if (chain.head_sequence, chain.head_hash) != (expected_sequence, expected_previous):
        return _not_at_the_head(chain, expected_sequence)
    return ChainVerdict(chain.key, expected_sequence, expected_previous, None)


def text_still_fits(entry: Entry) -> bool:
    """Return whether an entry's text, as it is stored now, still gives the entry's hash."""
    return entry.hash == entry_hash(
        chain=entry.chain_id,
        sequence=entry.sequence,
        recorded_at_us=entry.recorded_at_us,
        person=entry.person,
        action=entry.action,
        subject=entry.subject,
        record=entry.record,
        detail=entry.detail,
        previous_hash=entry.previous_hash,
    )


def verify_records() -> Iterator[Broken]:
    """Compare every recorded row with its newest entry; yield each that differs.

    A row without an entry and an entry without its row are both reported: a
    recorded row is never deleted.
    """
    for model in recorded_models():
        yield from changed_rows(model._default_manager.order_by("pk"))
        yield from _missing_rows(model)


def changed_rows(rows: models.QuerySet) -> Iterator[Broken]:
    """Compare these rows of a recorded model with their newest entries; yield each that differs."""
    for chunk in _chunks(rows.iterator(chunk_size=_ROWS_AT_ONCE)):
        newest = _newest_entries([row.ledger_subject for row in chunk])
        for row in chunk:
            entry = newest.get(row.ledger_subject)
            if entry is None:
                yield Broken("", 0, f"{row.ledger_subject} has no entry in the ledger")
            elif entry.record != snapshot(row):
                yield Broken(
                    entry.chain_id,
                    entry.sequence,
                    f"{row.ledger_subject} no longer says what its last entry recorded",
                )


def recorded_models() -> list[type[Recorded]]:
    """Return every model whose rows the ledger proves."""
    return [model for model in apps.get_models() if issubclass(model, Recorded)]


def _stored_entries(chain_key: str) -> Iterator[tuple]:
    # The driver is read directly: a model instance for each row costs more
    # than the hashing it is read for.
    columns = ", ".join(_COLUMNS)
    with connection.chunked_cursor() as cursor:
        cursor.execute(
            f"SELECT {columns} FROM ledger_entry WHERE chain_id = %s ORDER BY sequence",  # noqa: S608
            [chain_key],
        )
        while rows := cursor.fetchmany(_ROWS_AT_ONCE):
            yield from rows


def _broken(chain: Chain, sequence: int, what: str) -> ChainVerdict:
    broken = Broken(chain.key, sequence, what)
    return ChainVerdict(chain.key, sequence - 1, chain.head_hash, broken)


def _not_following(chain: Chain, sequence: int, *, fits: bool) -> ChainVerdict:
    """Name this entry, or the one before: an entry whose own hash fits remembers the true one."""
    if fits and sequence > 1:
        return _broken(chain, sequence - 1, f"entry {sequence} follows another entry than this one")
    return _broken(chain, sequence, "it does not follow the entry before it")


def _not_at_the_head(chain: Chain, last: int) -> ChainVerdict:
    if chain.head_sequence == last:
        return _broken(chain, last, "the head of the chain remembers another last entry")
    first_apart = min(chain.head_sequence, last) + 1
    return _broken(
        chain, first_apart, f"the chain ends at entry {last}, its head says {chain.head_sequence}"
    )


def _missing_rows(model: type[Recorded]) -> Iterator[Broken]:
    label = model._meta.label_lower
    subjects = (
        Entry.objects.filter(subject__startswith=f"{label}:").values_list("subject").distinct()
    )
    kept = set(model._default_manager.values_list("pk", flat=True))
    for (subject,) in subjects.iterator(chunk_size=_ROWS_AT_ONCE):
        if int(subject.rpartition(":")[2]) not in kept:
            yield Broken("", 0, f"{subject} has entries in the ledger but is gone")


def _newest_entries(subjects: list[str]) -> dict[str, Entry]:
    last = (
        Entry.objects.filter(subject=models.OuterRef("subject"))
        .order_by("-sequence")
        .values("pk")[:1]
    )
    entries = Entry.objects.filter(subject__in=subjects, pk=models.Subquery(last))
    return {entry.subject: entry for entry in entries}


def _chunks(rows: Iterator[Recorded]) -> Iterator[list[Recorded]]:
    chunk: list[Recorded] = []
    for row in rows:
        chunk.append(row)
        if len(chunk) == _ROWS_AT_ONCE // 10:
            yield chunk
            chunk = []
    if chunk:
        yield chunk
