"""Everything on record between some lots and fills, gathered in a fixed number of queries."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from itertools import islice
from typing import Any

from django.db.models import Q, QuerySet

from kegsafe.batches.models import Batch, Draw, Fill, RecipeItem
from kegsafe.rules.tracing import (
    Amounts,
    Balance,
    Drawn,
    Filled,
    LotAmounts,
    Node,
    Sort,
    Standing,
    Whereabouts,
    amounts_behind,
    amounts_reached,
    balance_of_lot,
    whereabouts,
)
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import Lot
from kegsafe.tracing.queries import (
    FillReached,
    fill_reached,
    fills_from,
    lots_behind_fill,
    lots_from,
)
from kegsafe.venues.models import Venue

# Kept below what a query of SQLite takes, so that only a trace of very many lots asks twice.
_AT_ONCE = 10_000
_GONE = {Lot.Status.REJECTED, Lot.Status.DISCARDED}
_STANDING = {
    Fill.State.EMPTIED: Standing.EMPTIED,
    Fill.State.DISCARDED: Standing.DISCARDED,
}


@dataclass(frozen=True, slots=True)
class LotRow:
    """One lot as a trace shows it. `preparation_id` is None for what was bought in.

    `received_at` is when it came in at the door, or when making it began; `who` took it in or
    made it. Amounts are in the unit of `measure`.
    """

    lot_id: int
    code: str
    ingredient: str
    measure: str
    received: Decimal
    left: Decimal
    status: Lot.Status
    status_reason: str
    received_at: datetime
    date_kind: Lot.DateKind
    date_on: Any
    supplier_code: str
    delivery_id: int | None
    document: str
    supplier_id: int | None
    supplier: str
    supplier_address: str
    supplier_contact: str
    preparation_id: int | None
    who: str

    @property
    def amounts(self) -> LotAmounts:
        """Return what is left and lost as the rules read it: what was discarded is not left."""
        nothing = Decimal(0)
        if self.status in _GONE:
            return LotAmounts(self.received, nothing, self.left)
        return LotAmounts(self.received, self.left, nothing)

    @property
    def made_in_house(self) -> bool:
        return self.preparation_id is not None


@dataclass(frozen=True, slots=True)
class DrawRow:
    """An amount that went from a lot into a batch, or into the lot of a preparation."""

    draw_id: int
    lot_id: int
    into_lot_id: int | None
    batch_id: int | None
    preparation_id: int | None
    amount: Decimal
    drawn_at: datetime

    @property
    def into(self) -> Node:
        if self.batch_id is not None:
            return Node(Sort.BATCH, self.batch_id)
        return Node(Sort.LOT, self.into_lot_id or 0)


@dataclass(frozen=True, slots=True)
class BatchRow:
    """One batch as a trace shows it."""

    batch_id: int
    code: str
    drink: str
    recipe_id: int
    made_at: datetime
    made_by: str
    volume_ml: Decimal


@dataclass(frozen=True)
class Records:
    """Lots, draws, batches and fills that hang together, each in the order it came to be."""

    venue: Venue
    lots: Sequence[LotRow]
    draws: Sequence[DrawRow]
    batches: Sequence[BatchRow]
    fills: Sequence[FillReached]

    @cached_property
    def lot_by_id(self) -> dict[int, LotRow]:
        return {lot.lot_id: lot for lot in self.lots}

    @cached_property
    def batch_by_id(self) -> dict[int, BatchRow]:
        return {batch.batch_id: batch for batch in self.batches}

    @cached_property
    def amounts(self) -> Amounts:
        """Return the amounts as the rules read them."""
        return Amounts(
            lots={lot.lot_id: lot.amounts for lot in self.lots},
            batches={batch.batch_id: batch.volume_ml for batch in self.batches},
            fills={
                fill.fill_id: Filled(
                    fill.batch_id, fill.volume_ml, _STANDING.get(fill.state, Standing.IN_KEG)
                )
                for fill in self.fills
            },
            draws=[Drawn(draw.lot_id, draw.into, draw.amount) for draw in self.draws],
        )


@dataclass(frozen=True)
class LotTrace:
    """Forward from one lot, and back to what it was made of.

    `records` holds the lot, what it was made of, what was made of it, and every draw from it
    and from what was made of it. `made` are the keys of what was made of it, itself with it.
    """

    lot: LotRow
    records: Records
    made: frozenset[int]

    @property
    def lots_made(self) -> list[LotRow]:
        """Return what was made of it in house, at any depth."""
        found = (lot for lot in self.records.lots if lot.lot_id in self.made)
        return [lot for lot in found if lot is not self.lot]

    @property
    def lots_behind(self) -> list[LotRow]:
        """Return what it was made of, at any depth."""
        return [lot for lot in self.records.lots if lot.lot_id not in self.made]

    @cached_property
    def balance(self) -> Balance:
        """Return the lot's own balance: all that was drawn from it against what came in."""
        drawn = (draw.amount for draw in self.records.draws if draw.lot_id == self.lot.lot_id)
        return balance_of_lot(self.lot.amounts, drawn)

    @cached_property
    def reached(self) -> dict[Node, Decimal]:
        """Return how much of the lot is in each lot, batch and fill, in the lot's unit."""
        return amounts_reached(self.records.amounts, self.lot.lot_id)

    @cached_property
    def whereabouts(self) -> Whereabouts:
        """Return where the whole of the lot is, in its unit."""
        return whereabouts(self.records.amounts, self.lot.lot_id, self.reached)


@dataclass(frozen=True)
class FillTrace:
    """Back from one fill. `records` holds it, its batch and every lot behind it.

    `in_glass` names what the recipe adds beside the drink: no lot of that is on record.
    """

    fill: FillReached
    records: Records
    in_glass: Sequence[str]

    @cached_property
    def behind(self) -> dict[int, Decimal]:
        """Return how much of each lot the fill holds, in the lot's own unit."""
        return amounts_behind(self.records.amounts, self.fill.fill_id)


def trace_lot(venue: Venue, lot_id: int) -> LotTrace | None:
    """Return where a lot went and what it was made of; None for another venue's: seven queries."""
    made = lots_from(venue, [lot_id])
    if not made:
        return None
    made_of = {lot_id, *behind_lots([lot_id])[lot_id]}
    draws = _draws(venue, made, made_of)
    records = Records(
        venue=venue,
        lots=_lots(venue, made | made_of),
        draws=draws,
        batches=_batches(venue, (draw.batch_id for draw in draws)),
        fills=fills_from(venue, [lot_id]),
    )
    return LotTrace(records.lot_by_id[lot_id], records, made)


def trace_fill(venue: Venue, fill_id: int) -> FillTrace | None:
    """Return what went into a fill; None for another venue's: seven queries."""
    fill = fill_reached(venue, fill_id)
    if fill is None:
        return None
    behind = lots_behind_fill(venue, fill_id)
    into_batch = _draw_rows(Draw.objects.filter(batch=fill.batch_id))
    records = Records(
        venue=venue,
        lots=_lots(venue, behind),
        draws=[*_draws(venue, (), behind), *into_batch],
        batches=_batches(venue, [fill.batch_id]),
        fills=[fill],
    )
    return FillTrace(fill, records, _in_glass(records.batches[0].recipe_id))


_LOT_COLUMNS = (
    *("pk", "code", "ingredient__name", "measure", "amount_received", "amount_left"),
    *("status", "status_reason", "came_into_being_at", "date_kind", "date_on"),
    *("supplier_lot_code", "delivery_id", "delivery__document"),
    *("delivery__supplier_id", "delivery__supplier__name"),
    *("delivery__supplier__address", "delivery__supplier__contact"),
    *("preparation__pk", "delivery__received_by", "preparation__made_by"),
)


def _lots(venue: Venue, keys: Iterable[int]) -> list[LotRow]:
    found = [
        _lot_row(*row)
        for some in _in_parts(keys)
        for row in Lot.objects.filter(venue=venue, pk__in=some).values_list(*_LOT_COLUMNS)
    ]
    return sorted(found, key=lambda lot: (lot.received_at, lot.lot_id))


def _lot_row(*columns: Any) -> LotRow:
    *row, received_by, made_by = columns
    values = dict(zip(LotRow.__dataclass_fields__, row, strict=False))
    for name in ("document", "supplier", "supplier_address", "supplier_contact"):
        values[name] = values[name] or ""
    values["status"] = Lot.Status(values["status"])
    values["date_kind"] = Lot.DateKind(values["date_kind"])
    return LotRow(**values, who=made_by or received_by or "")


def _draws(venue: Venue, drawn_from: Iterable[int], drawn_into: Iterable[int]) -> list[DrawRow]:
    """Return every draw from some lots, and every draw into some preparations, each once."""
    of_venue = Draw.objects.filter(Q(batch__venue=venue) | Q(preparation__venue=venue))
    found = {
        row.draw_id: row
        for some in _in_parts(drawn_from)
        for row in _draw_rows(of_venue.filter(lot__in=some))
    }
    for some in _in_parts(drawn_into):
        found |= {
            row.draw_id: row for row in _draw_rows(of_venue.filter(preparation__lot__in=some))
        }
    return [found[key] for key in sorted(found)]


def _draw_rows(draws: QuerySet[Draw]) -> list[DrawRow]:
    columns = ("pk", "lot_id", "preparation__lot_id", "batch_id", "preparation_id")
    rows = draws.order_by("pk").values_list(*columns, "amount", "drawn_at")
    return [DrawRow(*row) for row in rows]


def _batches(venue: Venue, keys: Iterable[int | None]) -> list[BatchRow]:
    columns = ("pk", "code", "recipe__name", "recipe_id", "made_at", "made_by", "volume_ml")
    found = [
        BatchRow(*row)
        for some in _in_parts(key for key in keys if key is not None)
        for row in Batch.objects.filter(venue=venue, pk__in=some).values_list(*columns)
    ]
    return sorted(found, key=lambda batch: (batch.made_at, batch.batch_id))


def _in_glass(recipe_id: int) -> list[str]:
    items = RecipeItem.objects.filter(
        recipe=recipe_id, where=RecipeItem.Where.GLASS, is_removed=False
    )
    return list(items.order_by("position").values_list("ingredient__name", flat=True))


def _in_parts(keys: Iterable[int]) -> Iterator[list[int]]:
    waiting = iter(sorted(set(keys)))
    while some := list(islice(waiting, _AT_ONCE)):
        yield some
