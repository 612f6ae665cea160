"""The trace as events of an open standard: GS1 EPCIS 2.0 in JSON-LD, words of CBV 2.0.

A bar has no GS1 company prefix and none is made up: every identifier is a `urn:uuid:` worked out
from the venue's chain and the record, so that the same record has the same name in each file.
Names for people stand beside them as properties of a vocabulary of our own. Sections named
below are those of EPCIS 2.0. [second-hand: the published JSON schema, and from memory]
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from kegsafe.batches.models import Fill
from kegsafe.stock.models import Lot
from kegsafe.tracing.queries import FillReached
from kegsafe.tracing.records import BatchRow, DrawRow, LotRow, Records
from kegsafe.venues.models import Venue

CONTENT_TYPE = "application/ld+json"
_CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
# .example belongs to nobody (RFC 2606), so these names are nobody else's either.
_OWN_WORDS = {"bar": "https://kegsafe.example/epcis/"}
# UN/ECE Recommendation 20, as CBV asks; pieces have no unit there. [from memory]
_UNITS = {"ml": "MLT", "g": "GRM"}

Event = dict[str, Any]


def trace_events(records: Records, *, made_at: datetime) -> bytes:
    """Return the event file: the same records and moment give the same bytes."""
    events = sorted(_events(records), key=lambda event: (event["eventTime"], event["eventID"]))
    document = {
        "@context": [_CONTEXT, _OWN_WORDS],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": _utc(made_at),
        **_said(venue=records.venue.name, address=records.venue.address),
        "epcisBody": {"eventList": events},
    }
    return json.dumps(document, ensure_ascii=False, indent=1).encode()


def _events(records: Records) -> Iterator[Event]:
    names = _Names(records.venue)
    into = _by_destination(records.draws)
    for lot in records.lots:
        if lot.delivery_id is not None:
            yield names.received(lot)
        elif into.get(("lot", lot.lot_id)):
            yield names.made(lot, into[("lot", lot.lot_id)], records)
    for batch in records.batches:
        if into.get(("batch", batch.batch_id)):
            yield names.mixed(batch, into[("batch", batch.batch_id)], records)
    for fill in records.fills:
        yield from names.of_fill(fill)


def _by_destination(draws: Sequence[DrawRow]) -> dict[tuple[str, int], list[DrawRow]]:
    found: dict[tuple[str, int], list[DrawRow]] = {}
    for draw in draws:
        found.setdefault((str(draw.into.sort), draw.into.key), []).append(draw)
    return found


@dataclass(frozen=True, slots=True)
class _Names:
    """Makes the events of a venue, with its identifiers and its clock."""

    venue: Venue

    def urn(self, *parts: object) -> str:
        """Return the identifier of a record."""
        spoken = "/".join(map(str, (self.venue.chain_id, *parts)))
        return f"urn:uuid:{uuid5(NAMESPACE_URL, _OWN_WORDS['bar'] + spoken)}"

    def event(self, sort: str, at: datetime, *parts: object, **fields: Any) -> Event:
        """Return an event with what every event has: section 7.4.1."""
        here = {"id": self.urn("venue")}
        return {
            "type": sort,
            "eventID": self.urn("event", *parts),
            "eventTime": _utc(at),
            "eventTimeZoneOffset": _offset(self.venue.local(at)),
            **{name: value for name, value in fields.items() if value is not None},
            "bizLocation": here,
        }

    def lot_amount(self, lot: LotRow, amount: Decimal) -> dict[str, Any]:
        return _quantity(self.urn("lot", lot.lot_id), amount, lot.measure)

    def received(self, lot: LotRow) -> Event:
        """Goods at the door: an ObjectEvent that observes them, section 7.4.2."""
        is_refused = lot.status == Lot.Status.REJECTED
        event = self.event(
            "ObjectEvent",
            lot.received_at,
            *("received", lot.lot_id),
            action="OBSERVE",
            quantityList=[self.lot_amount(lot, lot.received)],
            bizStep="receiving",
            disposition="returned" if is_refused else "in_progress",
            sourceList=[{"type": "owning_party", "source": self.urn("supplier", lot.supplier_id)}],
            bizTransactionList=[{"bizTransaction": self.urn("delivery", lot.delivery_id)}],
        )
        return event | _said(
            description=lot.ingredient,
            lotCode=lot.code,
            supplierLotCode=lot.supplier_code,
            supplier=lot.supplier,
            document=lot.document,
        )

    def made(self, lot: LotRow, draws: Sequence[DrawRow], records: Records) -> Event:
        """A preparation: a TransformationEvent, section 7.4.6."""
        event = self.event(
            "TransformationEvent",
            lot.received_at,
            *("made", lot.lot_id),
            inputQuantityList=self._inputs(draws, records),
            outputQuantityList=[self.lot_amount(lot, lot.received)],
            bizStep="creating_class_instance",
            disposition="in_progress",
        )
        return event | _said(description=lot.ingredient, lotCode=lot.code)

    def mixed(self, batch: BatchRow, draws: Sequence[DrawRow], records: Records) -> Event:
        """A batch: a TransformationEvent, section 7.4.6."""
        event = self.event(
            "TransformationEvent",
            batch.made_at,
            *("mixed", batch.batch_id),
            inputQuantityList=self._inputs(draws, records),
            outputQuantityList=[self.batch_amount(batch.batch_id, batch.volume_ml)],
            bizStep="creating_class_instance",
            disposition="in_progress",
        )
        return event | _said(description=batch.drink, lotCode=batch.code)

    def _inputs(self, draws: Sequence[DrawRow], records: Records) -> list[dict[str, Any]]:
        return [self.lot_amount(records.lot_by_id[draw.lot_id], draw.amount) for draw in draws]

    def batch_amount(self, batch_id: int, volume_ml: Decimal) -> dict[str, Any]:
        return _quantity(self.urn("batch", batch_id), volume_ml, "ml")

    def of_fill(self, fill: FillReached) -> Iterator[Event]:
        """A keg filled, poured from, and what became of it."""
        keg = self.urn("keg", fill.keg_id)
        what = self.batch_amount(fill.batch_id, fill.volume_ml)
        said = _said(description=fill.drink, lotCode=fill.batch, keg=fill.keg)
        # The keg is the parent that holds part of the batch: section 7.4.3.
        filled = self.event(
            "AggregationEvent",
            fill.filled_at,
            *("filled", fill.fill_id),
            action="ADD",
            parentID=keg,
            childQuantityList=[what],
            bizStep="packing",
            disposition="container_closed",
        )
        yield filled | said
        for place, poured in enumerate(fill.poured):
            event = self.event(
                "ObjectEvent",
                poured.since,
                *("poured", fill.fill_id, place),
                action="OBSERVE",
                epcList=[keg],
                quantityList=[{"epcClass": what["epcClass"]}],
                bizStep="dispensing",
                disposition="partially_dispensed",
            )
            until = _utc(poured.until) if poured.until else ""
            yield event | said | _said(tap=poured.tap, pouredUntil=until)
        if fill.state_at is not None:
            yield from self._ended(fill, fill.state_at, keg, what, said)

    def _ended(
        self, fill: FillReached, at: datetime, keg: str, what: dict[str, Any], said: Event
    ) -> Iterator[Event]:
        """Held, emptied or discarded. How much was left when it was discarded is not measured."""
        fields: dict[str, Any]
        if fill.state == Fill.State.ON_HOLD:
            sort, step, disposition = "ObjectEvent", "holding", "unavailable"
            fields = {"action": "OBSERVE", "epcList": [keg]}
        elif fill.state == Fill.State.EMPTIED:
            sort, step, disposition = "AggregationEvent", "unpacking", "dispensed"
            fields = {"action": "DELETE", "parentID": keg, "childQuantityList": [what]}
        elif fill.state == Fill.State.DISCARDED:
            sort, step, disposition = "ObjectEvent", "destroying", "destroyed"
            fields = {"action": "DELETE", "quantityList": [{"epcClass": what["epcClass"]}]}
        else:
            return
        fields |= {"bizStep": step, "disposition": disposition}
        event = self.event(sort, at, fill.state.value, fill.fill_id, **fields)
        yield event | said | _said(reason=fill.state_reason)


def _quantity(urn: str, amount: Decimal, measure: str) -> dict[str, Any]:
    """Return a QuantityElement, section 7.3.3.3: no unit where things are counted."""
    unit = {"uom": _UNITS[measure]} if measure in _UNITS else {}
    # Twelve digits at most, so that the shortest float of it prints the same digits.
    return {"epcClass": urn, "quantity": float(amount), **unit}


def _said(**words: str) -> Event:
    """Return names for people as properties of our own; what is not recorded is left out."""
    return {f"bar:{name}": text for name, text in words.items() if text}


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _offset(local: datetime) -> str:
    return local.isoformat()[-6:]
