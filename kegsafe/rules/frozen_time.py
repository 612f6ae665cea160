"""Which frozen time a lot brings into what was made of it.

Freezing pauses the count of days and never restarts it (FDA Food Code 3-501.18(A), as adopted
by Virginia and Washington, read). What was drawn from a lot before it went into the freezer was
never frozen, and what stands in a preparation is frozen with it.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from kegsafe.rules.date_marking import FrozenSpan

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Drawn(Generic[Key]):
    """Some of a lot went into something, which may be a lot itself, on a date of the venue."""

    lot: Key
    into: Key
    on: date


@dataclass(frozen=True, slots=True)
class FrozenTime:
    """The spans a lot brings along, and those among them in which it stood by itself."""

    spans: tuple[FrozenSpan, ...]
    own: tuple[FrozenSpan, ...]


def frozen_within(
    made: Key, draws: Iterable[Drawn[Key]], spans: Mapping[Key, Iterable[FrozenSpan]]
) -> dict[Key, FrozenTime]:
    """Return the frozen time that each lot behind something brings into it.

    A span counts when the lot was thawed by the day it was drawn, or when what it had gone into
    by then was frozen. A lot that came by two ways brings the spans both ways share: the part
    that was not frozen decides. A span without a thaw never counts.

    Parameters
    ----------
    made : what is asked about; where it is a lot, its own spans count for all behind it
    draws : all draws on record of the lots behind it; others do no harm
    spans : of each lot that was ever frozen
    """
    into: dict[Key, list[Drawn[Key]]] = defaultdict(list)
    for draw in draws:
        into[draw.into].append(draw)
    ways: dict[Key, list[Drawn[Key]]] = defaultdict(list)
    waiting, reached = [made], {made}
    while waiting:
        for draw in into[waiting.pop()]:
            ways[draw.lot].append(draw)
            if draw.lot not in reached:
                reached.add(draw.lot)
                waiting.append(draw.lot)
    known = {made: FrozenTime(_thawed(spans.get(made, ())), ())}
    for lot in ways:
        _follow(lot, ways, spans, known)
    del known[made]
    return known


def _follow(
    lot: Key,
    ways: Mapping[Key, list[Drawn[Key]]],
    spans: Mapping[Key, Iterable[FrozenSpan]],
    known: dict[Key, FrozenTime],
) -> FrozenTime:
    """Work out a lot after everything it went into; nothing goes round in a circle."""
    if lot not in known:
        own_each, all_each = [], []
        for draw in ways[lot]:
            inside = _follow(draw.into, ways, spans, known).spans
            own = {each for each in _thawed(spans.get(lot, ())) if _by(each, draw.on)}
            own_each.append(own)
            all_each.append(own | {each for each in inside if each.frozen_on >= draw.on})
        known[lot] = FrozenTime(_in_order(all_each), _in_order(own_each))
    return known[lot]


def _by(span: FrozenSpan, day: date) -> bool:
    return span.thawed_on is not None and span.thawed_on <= day


def _thawed(spans: Iterable[FrozenSpan]) -> tuple[FrozenSpan, ...]:
    return tuple(span for span in spans if span.thawed_on is not None)


def _in_order(ways: list[set[FrozenSpan]]) -> tuple[FrozenSpan, ...]:
    shared = set.intersection(*ways)
    return tuple(sorted(shared, key=lambda span: span.frozen_on))
