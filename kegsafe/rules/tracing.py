"""Where an amount of a lot went and what a keg holds of each lot: shares that add up.

A preparation and a batch are taken to be mixed evenly: what is drawn from one takes of every
lot behind it in proportion. Common practice, no source. Pours are not measured, so what left
a keg by its tap is known only once the keg is empty, and then not apart from what was lost.

Amounts are decimals in the unit of the lot they are of (ml, g or pieces). What the record says
is added and subtracted exactly; shares are divided to PLACES figures, far more than any scale
shows.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal, localcontext
from enum import StrEnum
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple, TypeVar

PLACES = 60
_NOTHING = Decimal(0)

Part = TypeVar("Part")


class Sort(StrEnum):
    """What an amount can be in."""

    LOT = "lot"
    BATCH = "batch"
    FILL = "fill"


class Node(NamedTuple):
    """One lot, batch or fill, by its key."""

    sort: Sort
    key: int


class Standing(StrEnum):
    """What became of a fill."""

    IN_KEG = "in_keg"
    EMPTIED = "emptied"
    DISCARDED = "discarded"


@dataclass(frozen=True, slots=True)
class LotAmounts:
    """What the record says of a lot: `lost` was thrown away or sent back."""

    received: Decimal
    left: Decimal
    lost: Decimal = _NOTHING


@dataclass(frozen=True, slots=True)
class Drawn:
    """An amount of a lot, in its unit, that went into a lot made in house or into a batch."""

    lot: int
    into: Node
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Filled:
    """A volume of a batch, ml, that went into a keg."""

    batch: int
    volume: Decimal
    standing: Standing = Standing.IN_KEG


@dataclass(frozen=True, slots=True)
class Amounts:
    """All that is on record between some lots and fills.

    lots, batches (ml made) and fills by their keys; a draw or fill whose other end is not
    among them goes nowhere that is known.
    """

    lots: Mapping[int, LotAmounts]
    batches: Mapping[int, Decimal]
    fills: Mapping[int, Filled]
    draws: Sequence[Drawn]


@dataclass(frozen=True, slots=True)
class Balance:
    """What came in against where it went. `unexplained` is below zero when more went than came."""

    came_in: Decimal
    went: Decimal
    left: Decimal
    lost: Decimal

    @property
    def unexplained(self) -> Decimal:
        """What came in and is neither drawn, left nor lost on record."""
        return self.came_in - self.went - self.left - self.lost


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where the whole of a lot is, in its unit; the parts add up to what was received.

    in_stock, thrown_away : as itself or in what was made of it in house
    in_kegs, emptied, discarded : in kegs, by what became of the fill; from a keg that was on
        tap some was poured before, which nobody measured
    not_filled : in what a batch made and no keg took: not recorded where it went
    unexplained : on record nowhere
    """

    received: Decimal
    in_stock: Decimal
    thrown_away: Decimal
    in_kegs: Decimal
    emptied: Decimal
    discarded: Decimal
    not_filled: Decimal

    @property
    def unexplained(self) -> Decimal:
        """What is on record nowhere; below zero when more was drawn than there was."""
        with localcontext(prec=PLACES):
            return self.received - sum(
                (
                    self.in_stock,
                    self.thrown_away,
                    self.in_kegs,
                    self.emptied,
                    self.discarded,
                    self.not_filled,
                ),
                _NOTHING,
            )


def balance_of_lot(lot: LotAmounts, drawn: Iterable[Decimal]) -> Balance:
    """Return the balance of a lot, in its unit, from all that was drawn from it."""
    return Balance(lot.received, sum(drawn, _NOTHING), lot.left, lot.lost)


def balance_of_batch(made_ml: Decimal, fills: Iterable[Decimal]) -> Balance:
    """Return the balance of a batch in ml: what no keg took is unexplained."""
    return Balance(made_ml, sum(fills, _NOTHING), _NOTHING, _NOTHING)


def amounts_reached(amounts: Amounts, lot: int) -> dict[Node, Decimal]:
    """Return how much of a lot, in its unit, got into each lot, batch and fill.

    The lot itself is there with all that was received.
    """
    drawn = _by_lot(amounts.draws)
    reached: dict[Node, Decimal] = defaultdict(Decimal)
    reached[Node(Sort.LOT, lot)] = amounts.lots[lot].received
    with localcontext(prec=PLACES):
        for key in in_making_order(amounts.draws, amounts.lots):
            here = reached.get(Node(Sort.LOT, key))
            if here is None:
                continue
            for draw in drawn[key]:
                reached[draw.into] += here * draw.amount / amounts.lots[key].received
        for key, fill in amounts.fills.items():
            here = reached.get(Node(Sort.BATCH, fill.batch))
            if here is not None:
                share = fill.volume / amounts.batches[fill.batch]
                reached[Node(Sort.FILL, key)] += here * share
    return dict(reached)


def amounts_behind(amounts: Amounts, fill: int) -> dict[int, Decimal]:
    """Return how much of each lot, in that lot's own unit, a fill holds: the way back."""
    into = _by_destination(amounts.draws)
    share: dict[Node, Decimal] = {}
    behind: dict[int, Decimal] = defaultdict(Decimal)
    filled = amounts.fills[fill]

    def take(node: Node) -> None:
        for draw in into[node]:
            behind[draw.lot] += draw.amount * share[node]

    with localcontext(prec=PLACES):
        batch = Node(Sort.BATCH, filled.batch)
        share[batch] = filled.volume / amounts.batches[filled.batch]
        take(batch)
        for lot in reversed(in_making_order(amounts.draws, amounts.lots)):
            if lot in behind:
                node = Node(Sort.LOT, lot)
                share[node] = behind[lot] / amounts.lots[lot].received
                take(node)
    return dict(behind)


def whereabouts(amounts: Amounts, lot: int, reached: Mapping[Node, Decimal]) -> Whereabouts:
    """Return where the whole of a lot is now, from what `amounts_reached` found of it."""
    in_stock = thrown_away = not_filled = _NOTHING
    by_standing: dict[Standing, Decimal] = defaultdict(Decimal)
    filled: dict[int, Decimal] = defaultdict(Decimal)
    with localcontext(prec=PLACES):
        for (sort, key), here in reached.items():
            if sort is Sort.LOT:
                held = amounts.lots[key]
                in_stock += here * held.left / held.received
                thrown_away += here * held.lost / held.received
            elif sort is Sort.FILL:
                by_standing[amounts.fills[key].standing] += here
                filled[amounts.fills[key].batch] += here
        for (sort, key), here in reached.items():
            if sort is Sort.BATCH:
                not_filled += here - filled[key]
    return Whereabouts(
        received=amounts.lots[lot].received,
        in_stock=in_stock,
        thrown_away=thrown_away,
        in_kegs=by_standing[Standing.IN_KEG],
        emptied=by_standing[Standing.EMPTIED],
        discarded=by_standing[Standing.DISCARDED],
        not_filled=not_filled,
    )


def in_making_order(draws: Iterable[Drawn], lots: Iterable[int] = ()) -> tuple[int, ...]:
    """Return lots, each after every lot it was made of; those of `lots` without draws as well.

    The services refuse a lot that is made of itself. Where a record was changed behind their
    back and says so, the lots on that circle, and what was made of them, are left out.
    """
    sorter: TopologicalSorter[int] = TopologicalSorter(dict.fromkeys(lots, ()))
    for draw in draws:
        if draw.into.sort is Sort.LOT:
            sorter.add(draw.into.key, draw.lot)
        else:
            sorter.add(draw.lot)
    with suppress(CycleError):
        sorter.prepare()
    order: list[int] = []
    while ready := sorter.get_ready():
        order += sorted(ready)
        sorter.done(*ready)
    return tuple(order)


def depths(draws: Sequence[Drawn], fills: Mapping[int, Filled]) -> dict[Node, int]:
    """Return how many makings lie between each node and the lots that nothing went into: from 0.

    A node stands behind the deepest of what went into it.
    """
    drawn = _by_lot(draws)
    deep: dict[Node, int] = {}
    for lot in in_making_order(draws):
        here = deep.setdefault(Node(Sort.LOT, lot), 0)
        for draw in drawn[lot]:
            deep[draw.into] = max(deep.get(draw.into, 0), here + 1)
    for key, fill in fills.items():
        deep[Node(Sort.FILL, key)] = deep.get(Node(Sort.BATCH, fill.batch), 0) + 1
    return deep


def rounded_to_add_up(parts: Mapping[Part, Decimal], places: int = 3) -> dict[Part, Decimal]:
    """Return the parts rounded so that they add up to their rounded sum: by largest remainders.

    >>> rounded_to_add_up({"a": Decimal(1) / 3, "b": Decimal(1) / 3, "c": Decimal(1) / 3}, 1)
    {'a': Decimal('0.4'), 'b': Decimal('0.3'), 'c': Decimal('0.3')}
    """
    step = Decimal(1).scaleb(-places)
    with localcontext(prec=PLACES):
        down = {part: value.quantize(step, ROUND_FLOOR) for part, value in parts.items()}
        missing = sum(parts.values(), _NOTHING).quantize(step) - sum(down.values(), _NOTHING)
        # Sorting is stable: equal remainders go to the first.
        by_remainder = sorted(parts, key=lambda part: down[part] - parts[part])
        for part in by_remainder[: int(missing / step)]:
            down[part] += step
    return down


def _by_lot(draws: Iterable[Drawn]) -> defaultdict[int, list[Drawn]]:
    found: defaultdict[int, list[Drawn]] = defaultdict(list)
    for draw in draws:
        found[draw.lot].append(draw)
    return found


def _by_destination(draws: Iterable[Drawn]) -> defaultdict[Node, list[Drawn]]:
    found: defaultdict[Node, list[Drawn]] = defaultdict(list)
    for draw in draws:
        found[draw.into].append(draw)
    return found
