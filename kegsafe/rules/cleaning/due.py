"""When is this next to be cleaned, and why? Worked out from the records, never set by hand.

Days are calendar days of the venue: what is due on a day is overdue when that day is over.
Never cleaned is due now, and so is whatever an interval counts that nobody has counted.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from math import inf
from typing import TypeVar
from zoneinfo import ZoneInfo

from kegsafe.rules.cleaning.cycle import CycleResult
from kegsafe.rules.cleaning.intervals import Every, Interval, laws_of
from kegsafe.rules.cleaning.plans import Plan
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment
from kegsafe.rules.date_marking import end_of
from kegsafe.rules.moments import on_day

WEEK = timedelta(days=7)
BY_THE_CLOCK = frozenset({Every.DAY, Every.HOUR})

PlanKey = TypeVar("PlanKey")


class DueStatus(StrEnum):
    """How soon. The order of the members is the order of the list."""

    OVERDUE = "overdue"
    TODAY = "today"
    THIS_WEEK = "this_week"
    LATER = "later"
    WAITS = "waits"  # for a use, a fill or another drink: nothing is due before that
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFacts:
    """One piece of equipment as it stands. None is not recorded.

    `holds_a_drink` is a keg that is full or a line that is on tap. `left` are the allergenic
    sources still in it, `next_sources` those of the drink planned next; None where no drink
    is planned. `last_used_at` is the last pour or the end of the last use.
    """

    name: str
    equipment: Equipment
    holds_a_drink: bool = False
    last_used_at: datetime | None = None
    was_used_since_clean: bool | None = None
    fills_since_clean: int | None = None
    left: frozenset[str] = frozenset()
    next_sources: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class CycleHistory:
    """The cycles of one piece of equipment under one plan: the last that counted, and the last.

    `last_result` is that of the last cycle of all, at `last_at`. `noted_at` is the last clean
    that was written down without a plan: it shows no strength, time or rinse, so it proves none
    and moves no day, but nobody should think that it was lost.
    """

    last_good_at: datetime | None
    last_at: datetime | None = None
    last_result: CycleResult | None = None
    noted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for a clean, the moment it falls due, and where it comes from."""

    due_at: datetime
    rule: str
    statement: str
    source: str
    verified: str


@dataclass(frozen=True, slots=True)
class Due:
    """When the next clean is due. `reasons` are all that are known, the earliest first."""

    status: DueStatus
    due_at: datetime | None
    reason: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class DueCase:
    """One piece of equipment under one plan at one moment."""

    item: ItemFacts
    plan: Plan
    history: CycleHistory
    now: datetime
    zone: ZoneInfo

    def end_of_day(self, moment: datetime, days_later: int = 0) -> datetime:
        """Return the last second of the venue's day so many days after a moment, in UTC."""
        day = moment.astimezone(self.zone).date() + timedelta(days=days_later)
        return end_of(day, self.zone).astimezone(UTC)

    def since(self, moment: datetime | None) -> datetime:
        """Return the end of the day of an event; of today where nobody recorded its time."""
        return self.end_of_day(moment or self.now)


def plans_with_laws(
    plans: Mapping[PlanKey, Plan], equipment: Equipment, drink: DrinkKind, region: str
) -> Iterator[tuple[PlanKey, Plan, tuple[Interval, ...]]]:
    """Yield the plans for a piece of equipment, each with the law that is held against it.

    A piece whose drink nobody named takes every plan for its kind. The law of the region is held
    against the plan that the piece is cleaned by most often, the first by name of several.
    """
    fitting = {
        key: plan
        for key, plan in plans.items()
        if plan.equipment is equipment and (drink is DrinkKind.ANY or plan.suits(equipment, drink))
    }
    routine = min(fitting, key=lambda key: _most_often_first(fitting[key]), default=None)
    for key, plan in fitting.items():
        yield key, plan, laws_of(region, equipment, drink) if key == routine else ()


def _most_often_first(plan: Plan) -> tuple[float, str]:
    """Order plans by their shortest time between two cycles, in days; endless without one."""
    days = [
        each.every if each.unit is Every.DAY else each.every / 24
        for each in plan.intervals
        if each.every is not None and each.unit in BY_THE_CLOCK
    ]
    return min(days, default=inf), plan.name


def due(
    item: ItemFacts,
    plan: Plan,
    history: CycleHistory,
    now: datetime,
    zone: ZoneInfo,
    laws: Sequence[Interval] = (),
) -> Due:
    """Return when a piece of equipment is next due under a plan, with every reason.

    Parameters
    ----------
    now : aware
    zone : the venue's
    laws : rows of its place's law beside the plan's own, from `plans_with_laws`
    """
    case = DueCase(item, plan, history, now.astimezone(UTC), zone)
    reasons = sorted(_reasons(case, laws), key=lambda reason: reason.due_at)
    if not reasons:
        return _without_a_day(case, laws)
    first = reasons[0]
    status = _status(first.due_at, case.now, zone)
    return Due(status, first.due_at, first.statement, tuple(reasons))


def _reasons(case: DueCase, laws: Sequence[Interval]) -> Iterator[Reason]:
    yield from _never_cleaned(case)
    yield from _last_one_did_not_count(case)
    for interval in (*case.plan.intervals, *laws):
        yield from _interval_reason(case, interval)


def _never_cleaned(case: DueCase) -> Iterator[Reason]:
    if case.history.last_good_at is None:
        yield Reason(
            case.now,
            "cleaning.never",
            f"No clean of {case.item.name} that counts is on record.{_only_noted(case)}",
            "Record of the cleaning",
            "record",
        )


def _last_one_did_not_count(case: DueCase) -> Iterator[Reason]:
    history = case.history
    if history.last_at is None or history.last_result in (None, CycleResult.COMPLETE):
        return
    if history.last_good_at is not None and history.last_at < history.last_good_at:
        return
    failed = history.last_result is CycleResult.FAILED
    what = "failed" if failed else "was not finished on record"
    yield Reason(
        case.since(history.last_at),
        "cleaning.last_failed" if failed else "cleaning.last_incomplete",
        f"The clean of {case.item.name} on {_day(case, history.last_at)} {what}.",
        "Record of the cleaning",
        "record",
    )


def _interval_reason(case: DueCase, interval: Interval) -> Iterator[Reason]:
    if interval.every is None:
        return
    due_at = _DUE_AT[interval.unit](case, interval.every)
    if due_at is not None:
        yield Reason(
            due_at,
            interval.rule,
            _statement(case, interval),
            str(interval.citation),
            interval.citation.verified,
        )


def _after_days(case: DueCase, every: int) -> datetime | None:
    good = case.history.last_good_at
    return None if good is None else case.end_of_day(good, every)


def _after_hours(case: DueCase, every: int) -> datetime | None:
    good = case.history.last_good_at
    return None if good is None else good.astimezone(UTC) + timedelta(hours=every)


def _after_uses(case: DueCase, every: int) -> datetime | None:
    """A drink still in it is not a use that has ended."""
    if case.item.holds_a_drink or case.item.was_used_since_clean is False:
        return None
    return case.since(case.item.last_used_at)


def _after_fills(case: DueCase, every: int) -> datetime | None:
    fills = case.item.fills_since_clean
    if fills is not None and (fills < every or case.item.holds_a_drink):
        return None
    return case.since(case.item.last_used_at)


def _at_allergen_change(case: DueCase, every: int) -> datetime | None:
    if case.item.next_sources is None or not case.item.left - case.item.next_sources:
        return None
    return case.since(case.item.last_used_at)


def _after_idle_days(case: DueCase, every: int) -> datetime | None:
    """Idle time runs from the last pour or the last clean, whichever came later.

    A line on tap whose pours nobody records is in use, as far as anybody knows.
    """
    if case.item.holds_a_drink and case.item.last_used_at is None:
        return None
    moments = [case.item.last_used_at, case.history.last_good_at]
    known = [moment for moment in moments if moment is not None]
    return case.end_of_day(max(known), every) if known else None


_DUE_AT = {
    Every.DAY: _after_days,
    Every.HOUR: _after_hours,
    Every.USE: _after_uses,
    Every.FILL: _after_fills,
    Every.ALLERGEN_CHANGE: _at_allergen_change,
    Every.IDLE_DAY: _after_idle_days,
}


def _statement(case: DueCase, interval: Interval) -> str:
    if interval.unit is Every.ALLERGEN_CHANGE:
        left = ", ".join(sorted(case.item.left - (case.item.next_sources or frozenset())))
        return f"The last drink left {left} in {case.item.name}; the next one is without."
    opening = f"{interval.in_words[0].upper()}{interval.in_words[1:]}"
    statement = f"{opening} ({interval.citation.basis.in_words})."
    good = case.history.last_good_at
    return f"{statement} Last cleaned {_day(case, good)}.{_only_noted(case)}" if good else statement


def _only_noted(case: DueCase) -> str:
    """Return what there is to say of a later clean that was written down without a plan."""
    good, noted = case.history.last_good_at, case.history.noted_at
    if noted is None or (good is not None and noted <= good):
        return ""
    return (
        f" A clean noted for {_day(case, noted)} followed no plan: it shows no strength, time or "
        "rinse, so it does not count."
    )


def _day(case: DueCase, moment: datetime) -> str:
    return on_day(moment.astimezone(case.zone))


def _status(due_at: datetime, now: datetime, zone: ZoneInfo) -> DueStatus:
    if due_at <= now:
        return DueStatus.OVERDUE
    day: date = due_at.astimezone(zone).date()
    today = now.astimezone(zone).date()
    if day == today:
        return DueStatus.TODAY
    return DueStatus.THIS_WEEK if day < today + WEEK else DueStatus.LATER


def _without_a_day(case: DueCase, laws: Sequence[Interval]) -> Due:
    silent = [each for each in (*case.plan.intervals, *laws) if each.every is None]
    if silent:
        sentence = f"{silent[0].note} Enter how often the maker says."
        return Due(DueStatus.NOT_KNOWN, None, sentence, ())
    sentence = f"Nothing on record makes {case.item.name} due: {case.plan.name} waits for an event."
    return Due(DueStatus.WAITS, None, sentence, ())
