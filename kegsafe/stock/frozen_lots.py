"""Frozen time of the lots behind something: which of it counts there."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from zoneinfo import ZoneInfo

from kegsafe.rules.facts import Part
from kegsafe.rules.frozen_time import Drawn, FrozenTime, frozen_within
from kegsafe.stock.models import Lot

Made = tuple[str, int]


def batch(key: int) -> Made:
    """Name a batch as what was made."""
    return ("batch", key)


def lot(key: int) -> Made:
    """Name a lot as what was made."""
    return ("lot", key)


def as_drawn(
    parts: Mapping[int, Part], behind: Mapping[Made, Iterable[int]], zone: ZoneInfo
) -> dict[Made, dict[int, Part]]:
    """Return the lots behind each thing made, with the frozen time that counts in it.

    A lot that was frozen after some of it was drawn pauses nothing for what was drawn. One
    query, and none where no lot was ever thawed.

    parts : by key, those behind everything asked about, and the lots asked about themselves
    behind : the keys of the lots behind each thing made
    """
    spans = {key: part.frozen for key, part in parts.items() if _was_thawed(part)}
    if not spans:
        return {made: {key: parts[key] for key in keys} for made, keys in behind.items()}
    draws = list(_draws(parts, zone))
    frozen = {lot(key): each for key, each in spans.items()}
    return {
        made: _with_frozen_time(parts, keys, frozen_within(made, draws, frozen))
        for made, keys in behind.items()
    }


def _with_frozen_time(
    parts: Mapping[int, Part], keys: Iterable[int], found: Mapping[Made, FrozenTime]
) -> dict[int, Part]:
    return {key: _paused(parts[key], found.get(lot(key))) for key in keys}


def _paused(part: Part, time: FrozenTime | None) -> Part:
    if time is None:
        return replace(part, frozen=(), thawed_at=None)
    return replace(part, frozen=time.spans, thawed_at=part.thawed_at if time.own else None)


def _was_thawed(part: Part) -> bool:
    return any(span.thawed_on is not None for span in part.frozen)


def _draws(lots: Iterable[int], zone: ZoneInfo) -> Iterator[Drawn[Made]]:
    """Read what was drawn from lots; the room above that records it is named by relation alone."""
    rows = Lot.objects.filter(pk__in=lots, draws__isnull=False).values_list(
        "pk", "draws__drawn_at", "draws__batch_id", "draws__preparation__lot_id"
    )
    for key, drawn_at, of_batch, made in rows:
        into = lot(made) if of_batch is None else batch(of_batch)
        yield Drawn(lot(key), into, drawn_at.astimezone(zone).date())
