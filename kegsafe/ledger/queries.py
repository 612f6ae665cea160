"""Reading the ledger: the history of a record, in words."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from kegsafe.ledger.models import Entry, Recorded


@dataclass(frozen=True, slots=True)
class Change:
    """One field of an amendment: what it said first, what it says now."""

    field: str
    first: Any
    new: Any


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a record's history, ready to show."""

    sequence: int
    at: datetime
    person: str
    action: str
    reason: str
    changes: tuple[Change, ...]
    hash: str


def history(subject: Recorded) -> list[Event]:
    """Return what happened to a record, newest first, in one query."""
    entries = Entry.objects.filter(subject=subject.ledger_subject).order_by("-sequence")
    return [as_event(entry, type(subject)) for entry in entries]


def as_event(entry: Entry, model: type[Recorded]) -> Event:
    """Return an entry in the words a page shows."""
    detail = json.loads(entry.detail)
    first, new = detail.get("first", {}), detail.get("new", {})
    return Event(
        sequence=entry.sequence,
        at=datetime.fromtimestamp(entry.recorded_at_us / 1_000_000, tz=UTC),
        person=entry.person,
        action=entry.action,
        reason=detail.get("reason", ""),
        changes=tuple(Change(_label(model, name), first[name], new[name]) for name in new),
        hash=entry.hash,
    )


def _label(model: type[Recorded], name: str) -> str:
    return str(model._meta.get_field(name).verbose_name)
