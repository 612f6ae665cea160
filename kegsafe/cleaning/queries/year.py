"""A year of one line: what each day brought, for the heat map and for its text."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby, pairwise

from kegsafe.cleaning.models import Cycle
from kegsafe.equipment.models import Line

WEEKS = 53
_WEEK = timedelta(days=7)
# A day shows the gravest of what it brought.
_GRAVEST_FIRST = (
    Cycle.Result.FAILED,
    Cycle.Result.INCOMPLETE,
    Cycle.Result.GIVEN_UP,
    Cycle.Result.COMPLETE,
)
_LETTERS = {"complete": "C", "incomplete": "I", "failed": "F", "given_up": "G"}


@dataclass(frozen=True, slots=True)
class Day:
    """One square: its date and the gravest result of the day; empty where nothing was done."""

    on: date
    result: str

    @property
    def letter(self) -> str:
        return _LETTERS.get(self.result, "")

    @property
    def words(self) -> str:
        return Cycle.Result(self.result).label if self.result else ""


@dataclass(frozen=True, slots=True)
class Month:
    """One line of the text alternative."""

    first: date
    complete: int
    other: int


@dataclass(frozen=True, slots=True)
class Year:
    """Rows are the days of the week, columns the weeks, this week first.

    `spans` are the months over the columns: the first of each, and how many weeks begin in it.
    """

    weekdays: tuple[tuple[Day, ...], ...]
    spans: tuple[tuple[date, int], ...]
    months: tuple[Month, ...]
    longest_gap_days: int | None


def year_of(line: Line, today: date) -> Year:
    """Return the last fifty-three weeks of a line, by one query. Days are the venue's."""
    monday = today - timedelta(days=today.weekday())
    first = monday - (WEEKS - 1) * _WEEK
    begins = datetime.combine(first, time.min, line.venue.zone)
    ended = Cycle.objects.filter(line=line, started_at__gte=begins).exclude(ended_at=None)
    by_day: dict[date, set[str]] = {}
    months: dict[date, Counter[bool]] = {}
    for day, result in ended.values_list("day", "result"):
        by_day.setdefault(day, set()).add(result)
        months.setdefault(day.replace(day=1), Counter())[result == Cycle.Result.COMPLETE] += 1
    mondays = [first + week * _WEEK for week in reversed(range(WEEKS))]
    return Year(
        spans=tuple(
            (month, len(list(weeks)))
            for month, weeks in groupby(mondays, key=lambda monday: monday.replace(day=1))
        ),
        weekdays=tuple(
            tuple(_day(monday + timedelta(days=weekday), by_day) for monday in mondays)
            for weekday in range(7)
        ),
        months=tuple(
            Month(month, counted[True], counted[False])
            for month, counted in sorted(months.items(), reverse=True)
        ),
        longest_gap_days=_longest_gap(by_day),
    )


def _day(on: date, by_day: dict[date, set[str]]) -> Day:
    results = by_day.get(on, set())
    return Day(on, next((result.value for result in _GRAVEST_FIRST if result in results), ""))


def _longest_gap(by_day: dict[date, set[str]]) -> int | None:
    """Return the most days between two complete cycles; None with fewer than two."""
    good = sorted(day for day, results in by_day.items() if Cycle.Result.COMPLETE in results)
    gaps = [(later - earlier).days for earlier, later in pairwise(good)]
    return max(gaps, default=None)
