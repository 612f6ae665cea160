"""Reading the ledger: the history of a record, in words."""

import json
from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.apps import apps
from django.db import models

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


# The fields by which people know a record, and the records whose names say which one it is where
# it has no name of its own: a reading is known by its place, a fill by its keg.
_NAMES = ("name", "code", "drink", "reference", "document", "username", "rule")
_KNOWN_BY = (
    *("keg", "line", "tap", "place", "lot", "ingredient", "recipe", "supplier"),
    *("preparation", "batch", "fill", "user"),
)


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
    """Return the newest lines of a chain that fit, newest first.

    One query, and one more for each kind of record that others are known by.

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
    found = [(entry, json.loads(entry.record)) for entry in entries.order_by("-sequence")[:limit]]
    names = _names_beside(found)
    return [_as_line(entry, values, names) for entry, values in found]


def recorded_kinds() -> list[tuple[str, str]]:
    """Return the label and the name of every kind of record the ledger proves."""
    models = [model for model in apps.get_models() if issubclass(model, Recorded)]
    kinds = [(model._meta.label_lower, str(model._meta.verbose_name)) for model in models]
    return sorted(kinds, key=lambda kind: kind[1])


_Names = dict[tuple[type[models.Model], int], str]


def _beside(
    model: type[models.Model], values: dict[str, Any]
) -> tuple[type[models.Model], int] | None:
    """Return the record that says which one this is: its model and its key."""
    for field in _KNOWN_BY:
        key = values.get(f"{field}_id")
        if key is not None:
            return model._meta.get_field(field).related_model, key
    return None


def _names_beside(found: list[tuple[Entry, dict[str, Any]]]) -> _Names:
    wanted: dict[type[models.Model], set[int]] = defaultdict(set)
    for entry, values in found:
        label = entry.subject.partition(":")[0]
        beside = _beside(apps.get_model(label), values)
        if beside and not any(values.get(name) for name in _NAMES):
            wanted[beside[0]].add(beside[1])
    return {
        (model, key): name
        for model, keys in wanted.items()
        for key, name in model.objects.filter(pk__in=keys).values_list("pk", _name_field(model))
    }


def _name_field(model: type[models.Model]) -> str:
    fields = {field.name for field in model._meta.concrete_fields}
    return next((name for name in _NAMES if name in fields), "pk")


def _as_line(entry: Entry, values: dict[str, Any], names: _Names) -> Line:
    label, _, number = entry.subject.partition(":")
    model = apps.get_model(label)
    own = next((values[key] for key in _NAMES if values.get(key)), "")
    beside = _beside(model, values)
    name = own or (names.get(beside, "") if beside else "") or f"no. {number}"
    return Line(
        event=as_event(entry, model),
        subject=entry.subject,
        kind=str(model._meta.verbose_name),
        name=str(name),
        record=json.dumps(values, indent=1, ensure_ascii=False),
        previous_hash=entry.previous_hash,
    )
