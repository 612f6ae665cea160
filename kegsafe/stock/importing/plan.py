"""What an import would do: each row new, already there, or bad with its mend. Changes nothing."""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time
from hashlib import sha256
from typing import Any

from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.rules.cold.receiving import refused_by
from kegsafe.rules.facts import House
from kegsafe.stock.arrival import at_the_door
from kegsafe.stock.facts import house
from kegsafe.stock.importing import cells
from kegsafe.stock.importing.delivery_file import FileRow, rows_of
from kegsafe.stock.importing.names import NameBook
from kegsafe.stock.models import ImportedRow, Ingredient, Lot, Supplier
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.stock.services.deliveries import NewLot
from kegsafe.stock.services.drawing import KIND_OF
from kegsafe.venues.models import Venue

# What tells one lot from another; the rest of a row may be corrected on the lot's page later.
_IDENTITY = (
    "supplier",
    "date_received",
    "document",
    "ingredient",
    "quantity",
    "supplier_lot",
    "date_kind",
    "date",
)


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing wrong with a row: in which column, and what to do about it."""

    column: str
    sentence: str


@dataclass(frozen=True, slots=True)
class GoodRow:
    """A row that can become a lot. `said` holds every cell in one canonical spelling."""

    line: int
    supplier: Supplier
    received_at: datetime
    document: str
    lot: NewLot
    said: Mapping[str, str]

    @property
    def digest(self) -> str:
        """Return the fingerprint of what tells this lot from any other."""
        return _sha256([self.said[column] for column in _IDENTITY])


@dataclass(frozen=True, slots=True)
class KnownRow:
    """A row that is in stock already, and as which lot."""

    row: GoodRow
    lot: Lot


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that cannot be imported, and all that is wrong with it."""

    line: int
    troubles: tuple[Trouble, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What an import of one text would do at a venue, as things stand now."""

    new: tuple[GoodRow, ...]
    known: tuple[KnownRow, ...]
    bad: tuple[BadRow, ...]

    @property
    def token(self) -> str:
        """Return a fingerprint of the plan: the same as long as the same would happen."""
        new = [[row.line, dict(row.said)] for row in self.new]
        known = [[each.row.line, each.lot.pk] for each in self.known]
        return _sha256([new, known, [row.line for row in self.bad]])


@dataclass(slots=True)
class _Venue:
    """What the rows are held against, fetched once."""

    venue: Venue
    house: House
    suppliers: NameBook[Supplier]
    ingredients: NameBook[Ingredient]
    places: NameBook[Any]
    imported: Mapping[str, ImportedRow] = field(default_factory=dict)
    typed_in: Mapping[str, Lot] = field(default_factory=dict)


def plan_import(venue: Venue, text: str) -> Plan:
    """Say what would happen if a text were imported; six queries whatever its length.

    Raises UnreadableFile when the text as a whole is no file of deliveries.
    """
    rows = rows_of(text)
    at_venue = _fetch(venue)
    checked = [_check(row, at_venue) for row in rows]
    good = [row for row in checked if isinstance(row, GoodRow)]
    at_venue.imported = _imported(venue, good)
    at_venue.typed_in = _typed_in(venue, good)
    sorted_out = [*_sort_out(good, at_venue), *(row for row in checked if isinstance(row, BadRow))]
    return Plan(
        new=tuple(row for row in sorted_out if isinstance(row, GoodRow)),
        known=tuple(row for row in sorted_out if isinstance(row, KnownRow)),
        bad=tuple(
            sorted((row for row in sorted_out if isinstance(row, BadRow)), key=lambda row: row.line)
        ),
    )


def _fetch(venue: Venue) -> _Venue:
    return _Venue(
        venue=venue,
        house=house(venue),
        suppliers=NameBook("supplier", venue.suppliers.all()),
        ingredients=NameBook("ingredient", venue.ingredients.select_related("assessment")),
        places=NameBook("place", venue.places.all()),
    )


# One row on its own


class _Reader:
    """Reads the cells of one row and keeps what was wrong, so that all of it is shown at once."""

    def __init__(self, row: FileRow) -> None:
        self.row = row
        self.troubles: list[Trouble] = []

    def take(self, column: str, reading: Callable[..., Any], *more: Any) -> Any:
        """Return what the cell says, None when it cannot be read."""
        try:
            return reading(self.row.cells[column], *more)
        except ValidationError as error:
            self.troubles.append(Trouble(column, " ".join(error.messages)))
            return None

    def wrong(self, column: str, sentence: str) -> None:
        """Keep one more thing that is wrong."""
        self.troubles.append(Trouble(column, sentence))


def _check(row: FileRow, at_venue: _Venue) -> GoodRow | BadRow:
    if row.trouble:
        return BadRow(row.line, (Trouble("", row.trouble),))
    reader = _Reader(row)
    _check_one_line(reader)
    supplier = reader.take("supplier", at_venue.suppliers.find)
    received_at = _received_at(reader, at_venue)
    lot = _lot(reader, at_venue)
    if lot is not None and received_at is not None:
        _check_arrival(reader, lot, received_at, at_venue.house)
    if reader.troubles:
        return BadRow(row.line, tuple(reader.troubles))
    document = row.cells["document"]
    said = _said(row, supplier, received_at, lot)
    return GoodRow(row.line, supplier, received_at, document, lot, said)


def _check_one_line(reader: _Reader) -> None:
    longest = {"document": 80, "supplier_lot": 80, "reason": 200}
    for column, cell in reader.row.cells.items():
        if not cell.isprintable():
            reader.wrong(column, "holds a line break or a sign that cannot be shown. Take it out.")
        elif len(cell) > longest.get(column, len(cell)):
            reader.wrong(column, f"has more than {longest[column]} characters. Shorten it.")


def _received_at(reader: _Reader, at_venue: _Venue) -> datetime | None:
    on = reader.take("date_received", cells.day)
    at: time | None = reader.take("time_received", cells.clock_time)
    if on is None or at is None:
        return None
    received_at = reader.take("time_received", lambda _: cells.moment(on, at, at_venue.venue.zone))
    if received_at is not None and received_at > timezone.now():
        reader.wrong("date_received", f"{on} {at:%H:%M} has not come yet. Check day and time.")
    return received_at


def _lot(reader: _Reader, at_venue: _Venue) -> NewLot | None:
    ingredient = reader.take("ingredient", at_venue.ingredients.find)
    kind = KIND_OF[ingredient.measure] if ingredient else None
    amount = reader.take("quantity", cells.quantity, kind) if kind else None
    date_kind = reader.take("date_kind", cells.date_kind)
    date_on = reader.take("date", cells.day) if reader.row.cells["date"] else None
    _check_date(reader, date_kind)
    temperature = reader.take("arrival_temperature", cells.temperature)
    place = reader.take("place", at_venue.places.find) if reader.row.cells["place"] else None
    decision = reader.take("decision", cells.decision)
    _check_reason(reader, decision)
    if reader.troubles:
        return None
    why = {decision: reader.row.cells["reason"]}
    return NewLot(
        ingredient=ingredient,
        amount=in_places_of(Lot, {"amount_received": amount.value})["amount_received"],
        amount_typed=amount.typed,
        supplier_lot_code=reader.row.cells["supplier_lot"],
        date_kind=date_kind,
        date_on=date_on,
        arrival_temperature_degc=temperature,
        place=place,
        rejected_because=why.get("reject", ""),
        held_because=why.get("hold", ""),
        source_line=reader.row.line,
    )


def _check_date(reader: _Reader, date_kind: str | None) -> None:
    has_date = bool(reader.row.cells["date"])
    if date_kind == Lot.DateKind.NONE and has_date:
        reader.wrong("date", "There is a date, but date_kind says none. Write use_by, say.")
    if date_kind not in {None, Lot.DateKind.NONE} and not has_date:
        reader.wrong("date", "The date is missing. Write it, or none under date_kind.")


def _check_reason(reader: _Reader, decision: str | None) -> None:
    has_reason = bool(reader.row.cells["reason"])
    if decision in {"hold", "reject"} and not has_reason:
        done = "held" if decision == "hold" else "rejected"
        reader.wrong("reason", f"Say why it was {done}: arrived at 12 °C, for example.")
    if decision == "accept" and has_reason:
        reader.wrong(
            "reason",
            "A reason is for what was held or rejected. Empty it, or write hold or reject.",
        )


def _check_arrival(reader: _Reader, lot: NewLot, received_at: datetime, at_house: House) -> None:
    if lot.rejected_because or lot.held_because:
        return
    arrival = at_the_door(lot.ingredient, lot.arrival_temperature_degc, at_house, received_at)
    refused = refused_by(arrival)
    if refused is not None:
        reader.wrong(
            "decision",
            f"{refused.statement} ({refused.source}) Write hold or reject, with a reason.",
        )


def _said(
    row: FileRow, supplier: Supplier, received_at: datetime, lot: NewLot
) -> Mapping[str, str]:
    temperature = lot.arrival_temperature_degc
    return {
        **row.cells,
        "date_received": f"{received_at:%Y-%m-%d}",
        "time_received": f"{received_at:%H:%M}",
        "supplier": str(supplier.pk),
        "ingredient": str(lot.ingredient.pk),
        "quantity": f"{lot.amount:f} {lot.ingredient.measure}",
        "date_kind": str(lot.date_kind),
        "arrival_temperature": "" if temperature is None else f"{temperature.normalize():f}",
        "place": str(lot.place.pk) if lot.place else "",
        "decision": row.cells["decision"].lower(),
    }


# All rows together


def _sort_out(rows: list[GoodRow], at_venue: _Venue) -> Iterator[GoodRow | KnownRow | BadRow]:
    first_lines: dict[str, int] = {}
    for row in rows:
        first = first_lines.setdefault(row.digest, row.line)
        if first != row.line:
            yield BadRow(row.line, (_said_twice(first),))
        else:
            yield _known_or_new(row, at_venue)


def _known_or_new(row: GoodRow, at_venue: _Venue) -> GoodRow | KnownRow | BadRow:
    imported = at_venue.imported.get(row.digest)
    if imported is None:
        typed_in = at_venue.typed_in.get(row.digest)
        return KnownRow(row, typed_in) if typed_in else row
    changed = [column for column, cell in row.said.items() if imported.cells.get(column) != cell]
    if not changed:
        return KnownRow(row, imported.lot)
    return BadRow(
        row.line,
        tuple(
            Trouble(
                column,
                f"This row is in stock already as lot {imported.lot.code}, and said otherwise "
                "here. An import changes nothing: amend the lot, or take the row out.",
            )
            for column in changed
        ),
    )


def _said_twice(first: int) -> Trouble:
    return Trouble(
        "",
        f"This row tells of the same lot as line {first}. Add the amounts up in one row, or tell "
        "the two apart by their supplier lot.",
    )


def _imported(venue: Venue, rows: list[GoodRow]) -> dict[str, ImportedRow]:
    digests = {row.digest for row in rows}
    found = ImportedRow.objects.filter(venue=venue, digest__in=digests).select_related("lot")
    return {row.digest: row for row in found}


def _typed_in(venue: Venue, rows: list[GoodRow]) -> dict[str, Lot]:
    """Lots somebody entered by hand, by the digest a file would give them."""
    if not rows:
        return {}
    days = [row.received_at for row in rows]
    lots = Lot.objects.filter(
        venue=venue,
        imported_row=None,
        delivery__received_at__gte=min(days).replace(hour=0, minute=0),
        delivery__received_at__lte=max(days).replace(hour=23, minute=59, second=59),
    ).select_related("delivery")
    return {_digest_of(lot, venue): lot for lot in lots}


def _digest_of(lot: Lot, venue: Venue) -> str:
    delivery = lot.delivery
    said = {
        "supplier": str(delivery.supplier_id),
        "date_received": f"{venue.local(delivery.received_at):%Y-%m-%d}",
        "document": delivery.document,
        "ingredient": str(lot.ingredient_id),
        "quantity": f"{lot.amount_received:.3f} {lot.measure}",
        "supplier_lot": lot.supplier_lot_code,
        "date_kind": lot.date_kind,
        "date": lot.date_on.isoformat() if lot.date_on else "",
    }
    return _sha256([said[column] for column in _IDENTITY])


def _sha256(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return sha256(text.encode()).hexdigest()
