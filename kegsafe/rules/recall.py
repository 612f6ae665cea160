"""How far a recall or its drill has come: what was found, what is missing, how long it took."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from functools import cache

from kegsafe.rules.tables import read_rows
from kegsafe.science.tables import SHARED

_COLUMNS = ("task", "order", "what", "in_drill", "source", "section", "verified")


class Reach(StrEnum):
    """Where an affected lot or drink was when the recall began."""

    IN_STOCK = "in_stock"
    IN_KEG = "in_keg"
    SERVED = "served"
    DISCARDED = "discarded"


RECOVERABLE = frozenset({Reach.IN_STOCK, Reach.IN_KEG})


class Outcome(StrEnum):
    """What looking for it came to."""

    WAITING = "waiting"
    FOUND = "found"
    NOT_FOUND = "not_found"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class StandardTask:
    """A task that each recall begins with, and whose word it stands on."""

    key: str
    what: str
    in_drill: bool
    source: str
    section: str
    verified: str


@dataclass(frozen=True, slots=True)
class Piece:
    """One lot or fill of a recall.

    `amount` is in the base unit of `measure` (ml, g, each) and, for a keg, what was filled: how
    much of it was poured nobody measured. `found` is None until somebody says.
    """

    name: str
    measure: str
    amount: Decimal
    reach: Reach
    outcome: Outcome
    found: Decimal | None = None
    settled_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Balance:
    """Amounts of one measure. `looked_for` = `found` + `short` + `waiting`; `gone` comes on top."""

    looked_for: Decimal = Decimal(0)
    found: Decimal = Decimal(0)
    short: Decimal = Decimal(0)
    waiting: Decimal = Decimal(0)
    gone: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Progress:
    """The state of a recall at a moment.

    `took` runs from its beginning to the last piece settled, once none waits: None before.
    """

    waiting: tuple[str, ...]
    not_found: tuple[str, ...]
    found_count: int
    gone_count: int
    took: timedelta | None
    balances: Mapping[str, Balance]

    @property
    def is_settled(self) -> bool:
        return not self.waiting


def progress(pieces: Iterable[Piece], began_at: datetime) -> Progress:
    """Add up what was found and what was not, by measure."""
    all_pieces = tuple(pieces)
    waiting = tuple(each.name for each in all_pieces if each.outcome is Outcome.WAITING)
    settled = [each.settled_at for each in all_pieces if each.settled_at is not None]
    return Progress(
        waiting=waiting,
        not_found=tuple(each.name for each in all_pieces if each.outcome is Outcome.NOT_FOUND),
        found_count=sum(each.outcome is Outcome.FOUND for each in all_pieces),
        gone_count=sum(each.outcome is Outcome.GONE for each in all_pieces),
        took=None if waiting else max(settled, default=began_at) - began_at,
        balances=_balances(all_pieces),
    )


def _balances(pieces: Iterable[Piece]) -> dict[str, Balance]:
    by_measure: dict[str, Balance] = {}
    for piece in pieces:
        by_measure[piece.measure] = _with(by_measure.get(piece.measure, Balance()), piece)
    return by_measure


def _with(balance: Balance, piece: Piece) -> Balance:
    if piece.outcome is Outcome.GONE:
        return Balance(
            balance.looked_for,
            balance.found,
            balance.short,
            balance.waiting,
            balance.gone + piece.amount,
        )
    waits = piece.amount if piece.outcome is Outcome.WAITING else Decimal(0)
    found = piece.found or Decimal(0)
    return Balance(
        balance.looked_for + piece.amount,
        balance.found + found,
        balance.short + piece.amount - found - waits,
        balance.waiting + waits,
        balance.gone,
    )


@cache
def standard_tasks() -> tuple[StandardTask, ...]:
    """Return what a recall begins with, in order. BadRuleData names a row that is wrong."""
    rows = read_rows(SHARED / "recalls" / "tasks.csv", _COLUMNS)
    return tuple(
        StandardTask(
            row.text("task"),
            row.text("what"),
            row.flag("in_drill"),
            row.text("source"),
            row.optional("section"),
            row.verified(),
        )
        for row in sorted(rows, key=lambda row: row.whole_number("order"))
    )
