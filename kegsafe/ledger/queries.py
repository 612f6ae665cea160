"""Reading the ledger: the history of a record, in words."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.apps import apps

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


# The fields by which people know a record.
_NAMES = ("name", "code", "drink")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the ledger as its page shows it."""

    event: Event
    subject: str
    kind: str
    name: str
    record: str
    previous_hash: str


def newest_lines(
    chain_key: str,
    *,
    before: int | None = None,
    person: str = "",
    action: str = "",
    kind: str = "",
    subject: str = "",
    limit: int,
) -> list[Line]:
    """Return the newest lines of a chain that fit, newest first, in one query.

    before : only entries with a lower sequence, for the next page
    action : any part of the verb; kind : a model label such as `equipment.keg`;
    subject : one record, such as `equipment.keg:12`
    """
    entries = Entry.objects.filter(chain=chain_key)
    if before is not None:
        entries = entries.filter(sequence__lt=before)
    if person:
        entries = entries.filter(person=person)
    if action:
        entries = entries.filter(action__icontains=action)
    if kind:
        entries = entries.filter(subject__startswith=f"{kind}:")
    if subject:
        entries = entries.filter(subject=subject)
    return [_as_line(entry) for entry in entries.order_by("-sequence")[:limit]]


def recorded_kinds() -> list[tuple[str, str]]:
    """Return the label and the name of every kind of record the ledger proves."""
    models = [model for model in apps.get_models() if issubclass(model, Recorded)]
    kinds = [(model._meta.label_lower, str(model._meta.verbose_name)) for model in models]
    return sorted(kinds, key=lambda kind: kind[1])


def _as_line(entry: Entry) -> Line:
    label, _, number = entry.subject.partition(":")
    model = apps.get_model(label)
    values = json.loads(entry.record)
    name = next((values[key] for key in _NAMES if values.get(key)), f"no. {number}")
    return Line(
        event=as_event(entry, model),
        subject=entry.subject,
        kind=str(model._meta.verbose_name),
        name=str(name),
        record=json.dumps(values, indent=1, ensure_ascii=False),
        previous_hash=entry.previous_hash,
    )
