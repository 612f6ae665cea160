"""Goods received: one delivery from one supplier, with its lots, in one transaction."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from itertools import count
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction

from kegsafe.ledger.services import Recorder, amend, create, take_turn
from kegsafe.rules.cold.receiving import refused_by
from kegsafe.rules.cold.temperature_log import to_warmer_hundredth
from kegsafe.rules.facts import House
from kegsafe.stock.arrival import at_the_door
from kegsafe.stock.facts import house
from kegsafe.stock.models import Delivery, Ingredient, Lot, Supplier
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.stock.services.moments import refuse_later_than_now
from kegsafe.venues.models import Venue


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLot:
    """One line of a delivery as it was checked at the door.

    `amount` is in the ingredient's base unit (ml, g or pieces) and `amount_typed`
    what the person wrote. `rejected_because` turns the lot away, `held_because` puts it on
    hold until a manager decides; either is kept on record.
    `place` is a row of equipment.Place. `source_line` is the line of a file it came from.
    """

    ingredient: Ingredient
    amount: Decimal
    amount_typed: str
    supplier_lot_code: str = ""
    date_kind: str = Lot.DateKind.NONE
    date_on: date | None = None
    arrival_temperature_degc: Decimal | None = None
    place: models.Model | None = None
    rejected_because: str = ""
    held_because: str = ""
    source_line: int | None = None


@transaction.atomic
def receive_delivery(
    *,
    venue: Venue,
    supplier: Supplier,
    received_at: datetime,
    document: str,
    lots: Sequence[NewLot],
    by: Recorder,
    note: str = "",
) -> Delivery:
    """Record a delivery and its lots, accepted or rejected line by line.

    Raises ValidationError for a time to come, no line at all, a supplier out of use, a lot
    that came too warm and is neither rejected nor held, and whatever a lot's own rules refuse.
    """
    take_turn(by)
    refuse_later_than_now(received_at, "received_at")
    if not lots:
        raise ValidationError("A delivery has at least one line: enter what came.")
    _refuse_from_elsewhere(venue, supplier)
    if not supplier.is_active:
        raise ValidationError({"supplier": f"{supplier} is out of use. Choose another supplier."})
    delivery = Delivery(
        venue=venue,
        supplier=supplier,
        received_at=received_at,
        document=document.strip(),
        received_by=by.person,
        note=note,
    )
    create(delivery, by=by, action="received")
    receive_lots(delivery=delivery, lots=lots, by=by)
    return delivery


@transaction.atomic
def receive_lots(*, delivery: Delivery, lots: Sequence[NewLot], by: Recorder) -> list[Lot]:
    """Record further lots of a delivery that is on record already."""
    take_turn(by)
    _refuse_from_elsewhere(delivery.venue, *(line.ingredient for line in lots))
    _refuse_from_elsewhere(delivery.venue, *(line.place for line in lots if line.place is not None))
    first = next_lot_code(delivery.venue, delivery.venue.local(delivery.received_at).date())
    at_house = house(delivery.venue)
    return [
        _receive_lot(delivery, line, code, at_house, by)
        for line, code in zip(lots, _codes_from(first), strict=False)
    ]


@transaction.atomic
def amend_delivery(
    *,
    delivery: Delivery,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Delivery:
    """Correct who a delivery came from and on which document, with the reason."""
    amend(delivery, changes, by=by, reason=reason, seen_sequence=seen_sequence)
    return delivery


def next_lot_code(venue: Venue, on: date) -> str:
    """Return the next free lot code of a day: 260407-03 is the third lot of 7 April 2026.

    Called inside the transaction that uses the code, after `take_turn`, so that
    two people receiving at once do not get the same one.
    """
    prefix = f"{on:%y%m%d}-"
    taken = Lot.objects.filter(venue=venue, code__startswith=prefix).values_list("code", flat=True)
    numbers = [int(code.removeprefix(prefix)) for code in taken if _is_ours(code, prefix)]
    return f"{prefix}{max(numbers, default=0) + 1:02d}"


def _codes_from(first: str) -> Iterator[str]:
    """The codes of a delivery follow one another: looked up once, not once for each lot."""
    prefix, number = first.split("-")
    return (f"{prefix}-{each:02d}" for each in count(int(number)))


def _receive_lot(delivery: Delivery, line: NewLot, code: str, at_house: House, by: Recorder) -> Lot:
    status, because = _decided(line)
    arrival = at_the_door(
        line.ingredient, line.arrival_temperature_degc, at_house, delivery.received_at
    )
    refused = refused_by(arrival)
    if refused is not None and status == Lot.Status.ACCEPTED:
        raise ValidationError(f"{line.ingredient}: {refused.statement} ({refused.source})")
    measured = {
        "amount_received": line.amount,
        "amount_left": line.amount,
        "arrival_temperature_degc": None
        if line.arrival_temperature_degc is None
        else to_warmer_hundredth(line.arrival_temperature_degc),
    }
    lot = Lot(
        venue=delivery.venue,
        ingredient=line.ingredient,
        delivery=delivery,
        code=code,
        supplier_lot_code=line.supplier_lot_code.strip(),
        measure=line.ingredient.measure,
        amount_typed=line.amount_typed,
        date_kind=line.date_kind,
        date_on=line.date_on,
        came_into_being_at=delivery.received_at,
        place=line.place,
        status=status,
        status_reason=because,
        **in_places_of(Lot, measured),
    )
    detail: dict[str, Any] = {"file_line": line.source_line} if line.source_line else {}
    if because:
        detail["reason"] = because
    if arrival:
        detail["arrival"] = [finding.as_json() for finding in arrival]
    create(lot, by=by, action=_DONE[status], **detail)
    return lot


_DONE = {
    Lot.Status.ACCEPTED: "accepted",
    Lot.Status.ON_HOLD: "put on hold",
    Lot.Status.REJECTED: "rejected on arrival",
}


def _decided(line: NewLot) -> tuple[Lot.Status, str]:
    """Return how a line comes in, and why it is not simply accepted."""
    if line.rejected_because.strip():
        return Lot.Status.REJECTED, line.rejected_because.strip()
    if line.held_because.strip():
        return Lot.Status.ON_HOLD, line.held_because.strip()
    return Lot.Status.ACCEPTED, ""


def _refuse_from_elsewhere(venue: Venue, *records: models.Model) -> None:
    """A caller's mistake, not a person's: forms and files only offer the venue's own records."""
    for found in records:
        if found.venue_id != venue.pk:
            raise ValueError(f"{found!r} belongs to another venue.")


def _is_ours(code: str, prefix: str) -> bool:
    return code.removeprefix(prefix).isascii() and code.removeprefix(prefix).isdigit()
