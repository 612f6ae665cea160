"""Where a drink stood, what was read there, and what a manager decided of the time nobody read."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise

from kegsafe.rules.cold.excursions import ColdRecord, Excursion, Gap


class Counts(StrEnum):
    """What a manager can decide of a stretch that nobody read."""

    COLD = "cold"
    WARM = "warm"
    HOLD = "hold"


@dataclass(frozen=True, slots=True)
class Decision:
    """A manager looked and decided what a stretch of a place counts as; seconds of the epoch.

    It speaks of unread time alone: what was measured stays as it was measured. `found` is what
    was found, `measured_degc` the drink's temperature then, where it was taken.
    """

    from_s: int
    until_s: int
    counts: Counts
    by: str
    at: datetime
    found: str
    measured_degc: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Unread:
    """Part of a gap that one decision, or none, speaks for."""

    from_s: int
    until_s: int
    decision: Decision | None

    @property
    def seconds(self) -> int:
        """Return how long it is."""
        return self.until_s - self.from_s


@dataclass(frozen=True, slots=True)
class Stay:
    """Time a drink stood in one place, and what was read there in that time.

    `record` is cut to the stay; its limit and the accuracy of its thermometer are in it already.
    `decisions` stand in the order they were recorded: of two on one stretch the later one holds.
    `charged_h` are the hours that growth charges beyond the clock, where the venue chose so.
    `key` is the place as the records know it.
    """

    place: str
    is_chilled: bool
    from_s: int
    until_s: int
    record: ColdRecord
    decisions: tuple[Decision, ...] = ()
    charged_h: float = 0.0
    key: int | None = None

    @property
    def unread(self) -> tuple[Unread, ...]:
        """Return the time nobody read, cut where decisions begin and end.

        A gap beside a reading above the limit is not among it: that counts as above already.
        In a place that is not cold no decision is heard: nobody has to look to know it is warm.
        """
        heard = self.decisions if self.is_chilled else ()
        gaps = (gap for gap in self.record.gaps if not gap.counts_as_above)
        return tuple(part for gap in gaps for part in _parts(gap, heard))

    @property
    def undecided(self) -> tuple[Unread, ...]:
        """Return the unread time of a cold place that no manager has decided about."""
        return tuple(part for part in self.unread if self.is_chilled and part.decision is None)

    def decided(self, counts: Counts) -> tuple[Unread, ...]:
        """Return the unread time that was decided to count so."""
        return tuple(
            part for part in self.unread if part.decision and part.decision.counts is counts
        )

    @property
    def unknown_s(self) -> int:
        """Return the seconds of the stay nobody read and nobody has decided about."""
        return sum(part.seconds for part in self.unread if part.decision is None)

    @property
    def above_s(self) -> int:
        """Return the seconds of the stay that count as above; unread ones too in a warm place."""
        unread = self.unknown_s if not self.is_chilled else 0
        return self.record.above_s + unread + self.decided_above_s

    @property
    def decided_above_s(self) -> int:
        """Return the unread seconds that a manager counts as above."""
        return sum(part.seconds for part in self.decided(Counts.WARM))

    @property
    def spans_above(self) -> Iterator[tuple[int, int, bool]]:
        """Yield the periods above: begin, end, and whether it began above the limit already."""
        for each in self.record.excursions:
            yield each.from_s, each.until_s, each.begins_above
        warm = self.unread if not self.is_chilled else self.decided(Counts.WARM)
        for part in warm:
            yield part.from_s, part.until_s, True


@dataclass(frozen=True, slots=True)
class History:
    """Where a drink stood since it was filled, in order; seconds of the epoch.

    It begins with the keg. What its parts stood through before is no part of it: lots have no
    record of every place they stood in.
    `last_read` is the last reading where it stands: second, and hundredths of a degC.
    """

    from_s: int
    until_s: int
    stays: tuple[Stay, ...]
    last_read: tuple[int, int] | None = None

    @property
    def above_s(self) -> int:
        """Return all seconds that count as above the limit."""
        return sum(stay.above_s for stay in self.stays)

    @property
    def decided_above_s(self) -> int:
        """Return the seconds of them that nobody read and a manager counts as above."""
        return sum(stay.decided_above_s for stay in self.stays)

    @property
    def charged_h(self) -> float:
        """Return the hours that growth charges beyond the clock."""
        return sum(stay.charged_h for stay in self.stays)

    @property
    def unplaced_s(self) -> int:
        """Return the seconds for which no place is on record."""
        placed, reached = 0, self.from_s
        for stay in sorted(self.stays, key=lambda stay: stay.from_s):
            begins = max(stay.from_s, reached)
            placed += max(0, min(stay.until_s, self.until_s) - begins)
            reached = max(reached, stay.until_s)
        return self.until_s - self.from_s - placed

    @property
    def unknown_s(self) -> int:
        """Return the seconds nobody can speak for, in cold places and outside any place."""
        return self.unplaced_s + sum(stay.unknown_s for stay in self.stays if stay.is_chilled)

    def is_open(self, part: Unread) -> bool:
        """Say whether unread time still goes on, so that the next reading will end it."""
        is_unread = self.last_read is None or self.last_read[0] <= part.from_s
        return part.until_s >= self.until_s and is_unread

    @property
    def periods(self) -> tuple[tuple[int, int], ...]:
        """Return each period above the limit; one that goes on in the next place is one."""
        spans = sorted(span for stay in self.stays for span in stay.spans_above)
        joined: list[tuple[int, int]] = []
        for begins, ends, goes_on in spans:
            if joined and goes_on and begins <= joined[-1][1]:
                joined[-1] = (joined[-1][0], max(ends, joined[-1][1]))
            else:
                joined.append((begins, ends))
        return tuple(joined)

    @property
    def warmest(self) -> Excursion | None:
        """Return the excursion with the warmest reading."""
        found = [each for stay in self.stays for each in stay.record.excursions]
        return max(found, key=lambda each: each.warmest_centi_degc, default=None)


def _parts(gap: Gap, decisions: tuple[Decision, ...]) -> Iterator[Unread]:
    """Yield a gap in parts, each with the last decision that covers it."""
    within = [each for each in decisions if each.from_s < gap.until_s and each.until_s > gap.from_s]
    cuts = {gap.from_s, gap.until_s}
    cuts |= {s for each in within for s in (each.from_s, each.until_s)}
    inside = sorted(s for s in cuts if gap.from_s <= s <= gap.until_s)
    for begins, ends in pairwise(inside):
        covering = [each for each in within if each.from_s <= begins and each.until_s >= ends]
        yield Unread(begins, ends, covering[-1] if covering else None)
