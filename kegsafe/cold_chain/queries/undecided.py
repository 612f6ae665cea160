"""Time nobody read in all places of a venue, as far as one look at them can decide about it."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import NamedTuple

from kegsafe.cold_chain.queries.gaps import LOOKED_BACK, PlaceGaps, gaps_of
from kegsafe.equipment.models import Place
from kegsafe.rules.cold.history import Unread
from kegsafe.rules.facts import House

# One drink measured this morning says little of last week, so what began earlier is decided one
# stretch at a time. Three days reach over a weekend that was closed. Common practice, no source.
TOGETHER = timedelta(days=3)


class Read(NamedTuple):
    """A reading beside a gap."""

    at: datetime
    degc: Decimal


@dataclass(frozen=True, slots=True)
class UndecidedGap:
    """A stretch nobody read, in seconds of the epoch, and the reading on either side of it."""

    from_s: int
    until_s: int
    before: Read | None
    after: Read | None

    @property
    def from_at(self) -> datetime:
        """Return when it began."""
        return _moment(self.from_s)

    @property
    def until_at(self) -> datetime:
        """Return when it ended."""
        return _moment(self.until_s)

    @property
    def long(self) -> timedelta:
        """Return how long it is."""
        return timedelta(seconds=self.until_s - self.from_s)


@dataclass(frozen=True, slots=True)
class UndecidedPlace:
    """A place with its gaps that can be decided together.

    `earlier` counts those that began before; `open_since` is since when the place has not been
    read, where that is too long ago: it has to be read first.
    """

    place: Place
    gaps: tuple[UndecidedGap, ...]
    earlier: int
    open_since: datetime | None

    @property
    def shown(self) -> str:
        """Return what tells these gaps from any others, for the form that shows them."""
        return " ".join(f"{gap.from_s}-{gap.until_s}" for gap in self.gaps)


def undecided_places(
    places: Iterable[Place], house: House, now: datetime
) -> dict[int, UndecidedPlace]:
    """Return the cold ones of some places by their key, whatever waits there: four queries."""
    since_s = int((now - TOGETHER).timestamp())
    found = gaps_of(places, house, now - LOOKED_BACK, now, now)
    return {each.place.pk: _undecided(each, since_s) for each in found}


def _undecided(found: PlaceGaps, since_s: int) -> UndecidedPlace:
    readings = [
        reading
        for times, degrees in found.log.parts
        for reading in zip(times, degrees, strict=True)
    ]
    times = [at_s for at_s, _ in readings]
    together = [part for part in found.waiting if part.from_s >= since_s]
    open_s = found.open_since_s
    return UndecidedPlace(
        place=found.place,
        gaps=tuple(_gap(part, times, readings) for part in together),
        earlier=len(found.waiting) - len(together),
        open_since=None if open_s is None else _moment(open_s),
    )


def _gap(part: Unread, times: list[int], readings: list[tuple[int, int]]) -> UndecidedGap:
    before, after = bisect_right(times, part.from_s), bisect_left(times, part.until_s)
    return UndecidedGap(
        part.from_s,
        part.until_s,
        before=_read(readings[before - 1]) if before else None,
        after=_read(readings[after]) if after < len(readings) else None,
    )


def _read(reading: tuple[int, int]) -> Read:
    at_s, centi_degc = reading
    return Read(_moment(at_s), Decimal(centi_degc) / 100)


def _moment(at_s: int) -> datetime:
    return datetime.fromtimestamp(at_s, UTC)
