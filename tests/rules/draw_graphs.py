"""Random draws that a bar could have recorded: lots, what was made of them, batches and kegs."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from hypothesis import strategies as st

from kegsafe.rules.tracing import Amounts, Drawn, Filled, LotAmounts, Node, Sort, Standing

_LOTS, _BATCHES = st.integers(1, 7), st.integers(1, 4)
_THOUSANDTH = Decimal("0.001")


@st.composite
def draw_graphs(draw: st.DrawFn) -> Amounts:
    """Return lots of which later ones may be made of earlier ones, in batches and kegs.

    No more is drawn than there is, as the database sees to; something may be left, thrown
    away, or on record nowhere.
    """
    count = draw(_LOTS)
    batches = {key: Decimal(draw(st.integers(1, 40_000))) for key in range(draw(_BATCHES))}
    lots, draws = {}, []
    for lot in range(count):
        later = [Node(Sort.LOT, key) for key in range(lot + 1, count)]
        into = draw(st.lists(st.sampled_from([*later, *_nodes(batches)]), max_size=4))
        parts = draw(st.lists(st.integers(1, 5_000_000), min_size=len(into), max_size=len(into)))
        left, lost, nowhere = (draw(st.integers(0, 2_000_000)) for _ in range(3))
        received = max(sum(parts) + left + lost + nowhere, 1)
        lots[lot] = LotAmounts(*(_THOUSANDTH * each for each in (received, left, lost)))
        draws += [
            Drawn(lot, node, _THOUSANDTH * part) for node, part in zip(into, parts, strict=True)
        ]
    return Amounts(lots, batches, _fills(draw, batches), draws)


def _nodes(batches: dict[int, Decimal]) -> list[Node]:
    return [Node(Sort.BATCH, key) for key in batches]


def _fills(draw: st.DrawFn, batches: dict[int, Decimal]) -> dict[int, Filled]:
    fills: dict[int, Filled] = {}
    for batch, made in batches.items():
        for share in draw(st.lists(st.integers(1, 100), max_size=3)):
            volume = made * share / 300
            fills[len(fills)] = Filled(batch, volume, draw(st.sampled_from(Standing)))
    return fills


def by_every_way(amounts: Amounts, lot: int, fill: int) -> Fraction:
    """Return how much of a lot is in a fill by walking every single way between them.

    As one reckons on paper: along a way, the amount drawn times the share of each vessel that
    was taken on. In fractions, so that nothing is rounded.
    """
    filled = amounts.fills[fill]
    share = Fraction(filled.volume) / Fraction(amounts.batches[filled.batch])
    return _ways(amounts, lot, filled.batch) * share


def _ways(amounts: Amounts, lot: int, batch: int) -> Fraction:
    total = Fraction(0)
    for each in _of(amounts.draws, lot):
        if each.into == Node(Sort.BATCH, batch):
            total += Fraction(each.amount)
        elif each.into.sort is Sort.LOT:
            yielded = Fraction(amounts.lots[each.into.key].received)
            total += Fraction(each.amount) * _ways(amounts, each.into.key, batch) / yielded
    return total


def _of(draws: Sequence[Drawn], lot: int) -> list[Drawn]:
    return [each for each in draws if each.lot == lot]
