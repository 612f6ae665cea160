"""Writing to the ledger: the only way an entry comes to be."""

import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.ledger.canonical import canonical_json, entry_hash, snapshot
from kegsafe.ledger.models import Chain, Entry, Recorded
from kegsafe.ledger.sent_forms import claim


class StaleRecord(Exception):
    """Somebody else changed the record between reading it and amending it."""


@dataclass(frozen=True, slots=True)
class Recorder:
    """Who writes, and into which venue's chain."""

    chain_key: str
    person: str


def open_chain() -> Chain:
    """Start an empty chain, for a new venue."""
    return Chain.objects.create(key=str(uuid.uuid4()))


def take_turn(by: Recorder) -> None:
    """Wait for the head of the venue's chain, before any other row is locked.

    Every change ends at that head. Two changes that lock their rows first and
    the head last, in different orders, would wait for each other for ever.
    """
    _require_transaction()
    Chain.objects.select_for_update().get(pk=by.chain_key)


def record(
    subject: Recorded,
    *,
    by: Recorder,
    action: str,
    detail: Mapping[str, Any] | None = None,
) -> Entry:
    """Append one entry for a subject that was just saved, in the caller's transaction.

    `action` is a verb of the trade ('received', 'filled', 'put on hold').
    Locks the chain's head, so writers queue and the chain never forks.

    Raises TransactionManagementError outside a transaction: an entry without
    its record, or a record without its entry, must not be possible. Raises
    RecordedAlready when the form it comes from was recorded before.
    """
    _require_transaction()
    chain = Chain.objects.select_for_update().get(pk=by.chain_key)
    claim()
    fields = {
        "sequence": chain.head_sequence + 1,
        "recorded_at_us": time.time_ns() // 1_000,
        "person": _one_line(by.person),
        "action": _one_line(action),
        "subject": subject.ledger_subject,
        "record": snapshot(subject),
        "detail": canonical_json(detail or {}),
        "previous_hash": chain.head_hash,
    }
    digest = entry_hash(chain=chain.key, **fields)
    entry = Entry.objects.create(chain=chain, hash=digest, **fields)
    Chain.objects.filter(pk=chain.pk).update(head_sequence=entry.sequence, head_hash=digest)
    return entry


@transaction.atomic
def create(subject: Recorded, *, by: Recorder, action: str, **detail: Any) -> Entry:
    """Validate and save a new record with its entry.

    Raises ValidationError, naming the field, when the record breaks a rule of its model.
    """
    subject.full_clean()
    subject.save(force_insert=True)
    return record(subject, by=by, action=action, detail=detail)


@transaction.atomic
def amend(
    subject: Recorded,
    changes: Mapping[str, Any],
    *,
    by: Recorder,
    reason: str,
    action: str = "amended",
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change a record, keeping the first values, the new ones and the reason in the chain.

    `changes` maps attribute names to new values. Nothing changed gives None
    and no entry. `seen_sequence` is `last_sequence` of the record when the
    person was shown it; a newer entry raises StaleRecord.
    """
    take_turn(by)
    current = type(subject)._default_manager.select_for_update().get(pk=subject.pk)
    if seen_sequence is not None and last_sequence(current) != seen_sequence:
        raise StaleRecord(
            "Somebody else changed this record while you were typing. "
            "Look at what it says now, then enter your change again."
        )
    changed = {name: new for name, new in changes.items() if getattr(current, name) != new}
    if not changed:
        return None
    if not reason.strip():
        raise ValidationError({"reason": "Say why the record is changed: a few words are enough."})
    first = {name: _recordable(getattr(current, name)) for name in changed}
    for name, new in changed.items():
        setattr(current, name, new)
        setattr(subject, name, new)
    current.full_clean()
    current.save()
    new_values = {name: _recordable(getattr(current, name)) for name in changed}
    detail = {"reason": reason.strip(), "first": first, "new": new_values}
    return record(current, by=by, action=action, detail=detail)


def last_sequence(subject: Recorded) -> int:
    """Return the sequence of the newest entry about a record, 0 when there is none."""
    newest = (
        Entry.objects.filter(subject=subject.ledger_subject)
        .order_by("-sequence")
        .values_list("sequence", flat=True)
        .first()
    )
    return newest or 0


def _recordable(value: Any) -> Any:
    return value.pk if hasattr(value, "pk") else value


def _one_line(text: str) -> str:
    if not text or not text.isprintable():
        raise ValueError(f"A ledger entry needs a person and an action on one line, not {text!r}.")
    return text


def _require_transaction() -> None:
    if not transaction.get_connection().in_atomic_block:
        raise transaction.TransactionManagementError(
            "A ledger entry is written in the transaction of the change it records."
        )
