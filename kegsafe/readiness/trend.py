"""What the self-checks of the last weeks found, as bars with a text beside them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from kegsafe.readiness.models import SelfCheck
from kegsafe.rules.moments import on_day
from kegsafe.rules.readiness_clauses import Weight
from kegsafe.venues.models import Venue

WEEKS = 12
_STEP, _WIDTH = 46, 30  # from bar to bar, and of a bar
_HIGH = 120  # of the tallest bar
_FEWEST_AT_FULL_HEIGHT = 4  # so that one gap is no tower


@dataclass(frozen=True, slots=True)
class Part:
    """The part of a bar that one weight takes, in units of the drawing."""

    weight: str
    y: int
    height: int


@dataclass(frozen=True, slots=True)
class Week:
    """A week from Monday on, and the last self-check of it; None where nobody made one."""

    begins_on: date
    check: SelfCheck | None
    x: int
    parts: tuple[Part, ...] = ()

    @property
    def gaps(self) -> int | None:
        """Return how many gaps were found, None where nobody looked."""
        return None if self.check is None else sum(_counts(self.check).values())

    @property
    def top(self) -> int:
        """Return where the number above the bar stands."""
        return min((part.y for part in self.parts), default=_HIGH)

    @property
    def middle(self) -> int:
        return self.x + _WIDTH // 2


@dataclass(frozen=True, slots=True)
class Trend:
    """The weeks of a trend, the oldest first, with the measures of its drawing."""

    weeks: tuple[Week, ...]
    width: int = WEEKS * _STEP
    bar: int = _WIDTH
    high: int = _HIGH

    @property
    def is_empty(self) -> bool:
        return all(week.check is None for week in self.weeks)

    @property
    def in_words(self) -> str:
        """Return the drawing as a sentence, for who cannot see it."""
        return "; ".join(
            f"week of {on_day(week.begins_on)}: "
            f"{'no self-check' if week.gaps is None else _gaps(week.gaps)}"
            for week in self.weeks
        )


def trend(venue: Venue, now: datetime) -> Trend:
    """Return the last self-check of each of the last weeks: one query."""
    today = venue.local(now).date()
    monday = today - timedelta(days=today.weekday())
    mondays = [monday - timedelta(weeks=ago) for ago in range(WEEKS - 1, -1, -1)]
    # A day more than the first week needs: which day a moment falls on is for the venue's clock.
    since = now - timedelta(weeks=WEEKS, days=1)
    checks = SelfCheck.objects.filter(venue=venue, checked_at__gt=since, checked_at__lte=now)
    last = _last_of_each_week(checks.order_by("checked_at", "pk").defer("found"), venue)
    most = max((sum(_counts(check).values()) for check in last.values()), default=0)
    unit = _HIGH / max(most, _FEWEST_AT_FULL_HEIGHT)
    return Trend(
        tuple(
            Week(day, last.get(day), number * _STEP, _parts(last.get(day), unit))
            for number, day in enumerate(mondays)
        )
    )


def _last_of_each_week(checks: Iterable[SelfCheck], venue: Venue) -> dict[date, SelfCheck]:
    found = {}
    for check in checks:
        day = venue.local(check.checked_at).date()
        found[day - timedelta(days=day.weekday())] = check
    return found


def _counts(check: SelfCheck) -> dict[Weight, int]:
    return {weight: getattr(check, weight.value) for weight in Weight}


def _parts(check: SelfCheck | None, unit: float) -> tuple[Part, ...]:
    """Stack the weights, the gravest at the foot, where the eye compares."""
    parts: list[Part] = []
    below = 0
    for weight, count in _counts(check).items() if check else ():
        if count:
            top = _HIGH - round((below + count) * unit)
            foot = _HIGH - round(below * unit)
            parts.append(Part(weight.value, top, foot - top))
            below += count
    return tuple(parts)


def _gaps(count: int) -> str:
    return f"{count} gap{'' if count == 1 else 's'}"
