"""What the pages of a trace show, row by row."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from kegsafe.rules.tracing import Balance, Node, Sort, balance_of_batch, rounded_to_add_up
from kegsafe.tracing.queries import FillReached
from kegsafe.tracing.records import BatchRow, FillTrace, LotRow, LotTrace

ROWS_SHOWN = 200
_NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class Part:
    """One place where some of a lot is, by the record."""

    label: str
    note: str
    amount: Decimal


# Field of Whereabouts, what it is called, and what is to be known of it.
_PARTS = (
    ("in_stock", "In stock", "as itself, or in what was made of it here"),
    ("in_kegs", "In kegs", "as filled; what was poured since is not measured"),
    ("emptied", "Kegs emptied", "poured or lost: the record does not tell them apart"),
    ("discarded", "Kegs discarded", "as filled; some may have been poured before"),
    ("thrown_away", "Discarded or sent back", "as itself, or in what was made of it here"),
    ("not_filled", "Made, but in no keg", "what a batch came to less what its kegs took"),
)


@dataclass(frozen=True, slots=True)
class FillLine:
    """A keg that a lot reached, with how much of the lot went into it."""

    fill: FillReached
    amount: Decimal


@dataclass(frozen=True, slots=True)
class MadeLine:
    """A lot made in house of the one asked about, with how much of that went into it."""

    lot: LotRow
    amount: Decimal


@dataclass(frozen=True, slots=True)
class BatchLine:
    """A batch made of the lot, with how much of it went in, and what the kegs took of the batch."""

    batch: BatchRow
    amount: Decimal
    balance: Balance


@dataclass(frozen=True, slots=True)
class DrawLine:
    """What was drawn from the lot itself: into what, how much, when."""

    name: str
    batch_id: int | None
    preparation_id: int | None
    amount: Decimal
    drawn_at: datetime


@dataclass(frozen=True, slots=True)
class BehindLine:
    """A lot behind a fill, with how much of it the fill holds."""

    lot: LotRow
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Counted:
    """How many kegs a lot reached, by what became of them."""

    word: str
    count: int


def parts_of(trace: LotTrace) -> tuple[list[Part], Decimal]:
    """Return where the whole lot is, rounded so that it adds up, and what is unexplained."""
    found = trace.whereabouts
    amounts = {name: getattr(found, name) for name, _, _ in _PARTS}
    rounded = rounded_to_add_up({**amounts, "unexplained": found.unexplained})
    parts = [
        Part(label, note, rounded[name])
        for name, label, note in _PARTS
        if amounts[name] or name == "in_stock"
    ]
    return parts, rounded["unexplained"]


def fill_lines(trace: LotTrace) -> list[FillLine]:
    """Return the kegs that the lot reached, those that still hold it first."""
    lines = [
        FillLine(fill, trace.reached.get(Node(Sort.FILL, fill.fill_id), _NOTHING))
        for fill in trace.records.fills
    ]
    return sorted(lines, key=lambda line: not line.fill.is_open)


def made_lines(trace: LotTrace) -> list[MadeLine]:
    """Return what was made of the lot in house, in the order it came to be."""
    return [
        MadeLine(lot, trace.reached.get(Node(Sort.LOT, lot.lot_id), _NOTHING))
        for lot in trace.lots_made
    ]


def batch_lines(trace: LotTrace) -> list[BatchLine]:
    """Return the batches that the lot went into, at first hand or further on."""
    volumes: dict[int, list[Decimal]] = defaultdict(list)
    for fill in trace.records.fills:
        volumes[fill.batch_id].append(fill.volume_ml)
    return [
        BatchLine(
            batch,
            trace.reached.get(Node(Sort.BATCH, batch.batch_id), _NOTHING),
            balance_of_batch(batch.volume_ml, volumes[batch.batch_id]),
        )
        for batch in trace.records.batches
    ]


def draw_lines(trace: LotTrace) -> Iterator[DrawLine]:
    """Yield what was drawn from the lot itself, oldest first."""
    records = trace.records
    for draw in records.draws:
        if draw.lot_id != trace.lot.lot_id:
            continue
        if draw.batch_id is not None:
            batch = records.batch_by_id[draw.batch_id]
            name = f"{batch.drink}, batch {batch.code}"
        else:
            into = records.lot_by_id[draw.into.key]
            name = f"{into.ingredient}, lot {into.code}"
        yield DrawLine(name, draw.batch_id, draw.preparation_id, draw.amount, draw.drawn_at)


def behind_lines(trace: FillTrace) -> list[BehindLine]:
    """Return the lots behind a fill: what was bought in first, then what was made here."""
    lines = [BehindLine(lot, trace.behind.get(lot.lot_id, _NOTHING)) for lot in trace.records.lots]
    return sorted(lines, key=lambda line: line.lot.made_in_house)


def counted(fills: Sequence[FillReached]) -> list[Counted]:
    """Return how many kegs stand how, in words, those that matter at once first."""
    words = {
        "in_keg": "in the keg",
        "on_hold": "on hold",
        "emptied": "emptied",
        "discarded": "discarded",
    }
    counts = {state: sum(fill.state == state for fill in fills) for state in words}
    return [Counted(word, counts[state]) for state, word in words.items() if counts[state]]


def words_of_lot(trace: LotTrace) -> str:
    """Return the diagram of a lot in a sentence, for whoever does not see it."""
    records = trace.records
    kegs = ", ".join(f"{each.count} {each.word}" for each in counted(records.fills)) or "none"
    return (
        f"{trace.lot.ingredient}, lot {trace.lot.code}: made of {len(trace.lots_behind)} lot(s); "
        f"went into {len(trace.lots_made)} lot(s) made here, {len(records.batches)} batch(es) and "
        f"{len(records.fills)} keg(s): {kegs}. The tables on this page say the same."
    )


def words_of_fill(trace: FillTrace) -> str:
    """Return the diagram of a fill in a sentence, for whoever does not see it."""
    lots = trace.records.lots
    made = sum(lot.made_in_house for lot in lots)
    return (
        f"Keg {trace.fill.keg}, {trace.fill.drink}, batch {trace.fill.batch}: "
        f"{len(lots) - made} lot(s) bought in and {made} made here stand behind it. "
        "The tables on this page say the same."
    )
