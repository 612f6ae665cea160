"""Calendar days and elapsed hours: two clocks that are never mixed.

Day counts use the establishment's dates, and the day of preparation or opening is day 1.
Hours are elapsed time, so that a change of the clocks neither gives nor takes one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import cache
from types import MappingProxyType
from zoneinfo import ZoneInfo

from kegsafe.rules.tables import read_rows
from kegsafe.science.tables import SHARED

CONSERVATIVE = "conservative"

_ONE_DAY = timedelta(days=1)
_CONVENTION_COLUMNS = (
    "convention",
    "freeze_day_counts",
    "thaw_day_counts",
    "meaning",
    "source",
    "section",
    "verified",
)


@dataclass(frozen=True, slots=True)
class FrozenSpan:
    """From the date food went into the freezer to the date it came out; None: no record of it."""

    frozen_on: date
    thawed_on: date | None

    def __post_init__(self) -> None:
        if self.thawed_on is not None and self.thawed_on < self.frozen_on:
            raise ValueError(f"Thawed on {self.thawed_on}, before frozen on {self.frozen_on}.")


@dataclass(frozen=True, slots=True)
class FreezeConvention:
    """How an authority counts the two edge days of a frozen span."""

    key: str
    freeze_day_counts: bool
    thaw_day_counts: bool
    meaning: str
    source: str
    section: str
    verified: str

    def leaves_out(self, day: date, span: FrozenSpan) -> bool:
        """Say whether a date is not counted. Food without a thaw record was never frozen."""
        if span.thawed_on is None or not span.frozen_on <= day <= span.thawed_on:
            return False
        counts_as_freeze_day = day == span.frozen_on and self.freeze_day_counts
        counts_as_thaw_day = day == span.thawed_on and self.thaw_day_counts
        return not (counts_as_freeze_day or counts_as_thaw_day)


@cache
def freeze_conventions() -> Mapping[str, FreezeConvention]:
    """Return the known ways to count around freezing, by key."""
    rows = read_rows(SHARED / "codes" / "freezing.csv", _CONVENTION_COLUMNS)
    return MappingProxyType(
        {
            row.text("convention"): FreezeConvention(
                key=row.text("convention"),
                freeze_day_counts=row.flag("freeze_day_counts"),
                thaw_day_counts=row.flag("thaw_day_counts"),
                meaning=row.text("meaning"),
                source=row.text("source"),
                section=row.optional("section"),
                verified=row.verified(),
            )
            for row in rows
        }
    )


def last_date(day_one: date, days: int) -> date:
    """Return the last date of a count of days in which `day_one` is day 1.

    >>> last_date(date(2026, 4, 1), 7)
    datetime.date(2026, 4, 7)
    """
    if days < 1:
        raise ValueError(f"days must be 1 or more, got {days}.")
    return day_one + timedelta(days=days - 1)


def counted_last_date(
    day_one: date, days: int, frozen: Sequence[FrozenSpan], convention: str = CONSERVATIVE
) -> date:
    """Return the last date when the dates spent frozen are left out of the count.

    Freezing pauses the count and never restarts it; day 1 itself always counts. `convention`
    is a key of freeze_conventions(), as in the code's row date_marking.freeze_counts.

    Raises ValueError for days below 1 and for an unknown convention.
    """
    way = freeze_conventions().get(convention)
    if way is None:
        raise ValueError(f'"{convention}" is no way of counting around freezing.')
    last, left = day_one, days - 1
    if left < 0:
        raise ValueError(f"days must be 1 or more, got {days}.")
    while left:
        last += _ONE_DAY
        left -= not any(way.leaves_out(last, span) for span in frozen)
    return last


def day_one(started_at: datetime, zone: ZoneInfo, business_date: date | None) -> date:
    """Return the date of day 1: where work began, in the venue's zone.

    A bar that works past midnight may enter its business date; the earlier of the two counts,
    so the entry can shorten and never lengthen.
    """
    local = _aware(started_at).astimezone(zone).date()
    return local if business_date is None else min(local, business_date)


def end_of(day: date, zone: ZoneInfo) -> datetime:
    """Return the last second of a date in a zone.

    Where the clocks go back over midnight the last minutes of the date come twice; the second
    time ends the date. Compare the result in UTC or with another zone's time: Python compares
    two times of one zone by the clock face.
    """
    return datetime.combine(day, time(23, 59, 59, fold=1), tzinfo=zone)


def elapsed_end(start: datetime, hours: Decimal | int) -> datetime:
    """Return the moment a number of elapsed hours later, in the zone of `start`."""
    return (_aware(start).astimezone(UTC) + _hours(hours)).astimezone(start.tzinfo)


def _hours(hours: Decimal | int) -> timedelta:
    return timedelta(microseconds=int(Decimal(hours) * 3_600_000_000))


def _aware(moment: datetime) -> datetime:
    if moment.tzinfo is None:
        raise ValueError(f"{moment} has no zone. Give a moment with its zone.")
    return moment
