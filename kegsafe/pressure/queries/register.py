"""Everything in the register with what is due on it: four queries for five items or 5,000.

Page, command, audit and pack all start here, and all due dates come from one rule.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from kegsafe.equipment.models import Keg, Service
from kegsafe.pressure.models import Item
from kegsafe.pressure.queries.facts import DUE_COLUMNS, Known, Owner
from kegsafe.rules.pressure.checks import kinds
from kegsafe.rules.pressure.due import Due, DueState, due, urgency
from kegsafe.venues.models import Venue

_SERVICE_WORDS = {service.value: str(service.label) for service in Service}


@dataclass(frozen=True, slots=True)
class RegisterRow:
    """One item or keg of the register, and everything due on it, the most urgent first."""

    owner: Owner
    kind: str
    name: str
    serial: str
    room: str
    service: str
    service_reason: str
    dues: tuple[Due, ...]

    @property
    def pk(self) -> int:
        return self.owner[1]

    @property
    def is_keg(self) -> bool:
        return self.owner[0] == "keg"

    @property
    def kind_label(self) -> str:
        return kinds()[self.kind].label

    @property
    def service_word(self) -> str:
        return _SERVICE_WORDS[self.service]

    @property
    def next(self) -> Due:
        """Return what is most urgent."""
        return self.dues[0]

    @property
    def asking(self) -> tuple[Due, ...]:
        """Return what is due, or not known and so treated as due."""
        return tuple(each for each in self.dues if each.asks_for_work)

    def as_json(self) -> dict[str, Any]:
        """Return what command, calendar and pack print."""
        return {
            "item": f"{self.owner[0]}:{self.pk}",
            "kind": self.kind,
            "name": self.name,
            "serial": self.serial,
            "room": self.room,
            "service": self.service,
            "due": [each.as_json() for each in self.dues],
        }


def register(venue: Venue, today: date) -> list[RegisterRow]:
    """Return every item and keg that is not scrapped, by kind and name."""
    known = Known(venue)
    items = (
        Item.objects.filter(venue=venue)
        .exclude(service=Service.SCRAPPED)
        .order_by("kind", "name")
        .values("pk", "kind", "name", "serial", "room__name", *_STATE, *DUE_COLUMNS)
    )
    kegs = (
        Keg.objects.filter(venue=venue)
        .exclude(service=Service.SCRAPPED)
        .order_by("name")
        .values("pk", "name", "serial", *_STATE)
    )
    rows = [_row(("keg", each["pk"]), "keg", each, known, today) for each in kegs]
    return rows + [_row(("item", each["pk"]), each["kind"], each, known, today) for each in items]


def narrowed(
    rows: Iterable[RegisterRow],
    *,
    query: str = "",
    kind: str = "",
    service: str = "",
    state: str = "",
) -> list[RegisterRow]:
    """Keep the rows that fit. `state` is a DueState of anything on them, or 'asks' for work."""
    words = query.strip().casefold()
    return [
        row
        for row in rows
        if (not words or words in f"{row.name} {row.serial} {row.room}".casefold())
        and (not kind or row.kind == kind)
        and (not service or row.service == service)
        and (not state or _is_in(row, state))
    ]


def sorted_by(rows: Iterable[RegisterRow], key: str) -> list[RegisterRow]:
    """Return the rows by 'due' (the most urgent first), 'name' or 'kind'."""
    return sorted(rows, key=_SORTS.get(key, _SORTS["due"]))


_STATE = ("service", "service_reason")


def _by_due(row: RegisterRow) -> tuple[Any, ...]:
    return (*urgency(row.next), row.kind, len(row.name), row.name)


_SORTS: dict[str, Callable[[RegisterRow], tuple[Any, ...]]] = {
    "due": _by_due,
    "name": lambda row: (len(row.name), row.name, row.kind),
    "kind": lambda row: (row.kind, len(row.name), row.name),
}


def _is_in(row: RegisterRow, state: str) -> bool:
    if state == "asks":
        return bool(row.asking)
    return any(each.state == state for each in row.dues if state in set(DueState))


def _row(
    owner: Owner, kind: str, columns: dict[str, Any], known: Known, today: date
) -> RegisterRow:
    label = f"{kinds()[kind].label} {columns['name']}"
    facts = {name: columns[name] for name in DUE_COLUMNS} if owner[0] == "item" else {}
    return RegisterRow(
        owner=owner,
        kind=kind,
        name=columns["name"],
        serial=columns["serial"],
        room=columns.get("room__name") or "",
        service=columns["service"],
        service_reason=columns["service_reason"],
        dues=due(known.facts(owner, kind, label, facts), today),
    )
