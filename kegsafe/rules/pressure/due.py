"""What is due on a piece of pressure equipment, from when, and why.

One function answers for page, command, calendar and pack. It shows the rule and who is
competent to decide; it calls nothing lawful. A date nobody entered is not known, and is
treated as due.
"""

from calendar import monthrange
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from kegsafe.rules.moments import on_day
from kegsafe.rules.pressure.checks import CheckRule, checks_of
from kegsafe.rules.pressure.cylinders import AS_MARKED, NO_TEST, STAR, CylinderRule, cylinder_rule
from kegsafe.rules.pressure.figures import figure

REQUALIFICATION = "requalification"


class DueState(StrEnum):
    """How near a date is. The order of the members is the order of urgency."""

    OVERDUE = "overdue"
    NOT_KNOWN = "not_known"  # treated as due
    SOON = "soon"
    LATER = "later"
    EACH_FILL = "each_fill"
    NOT_ASKED = "not_asked"


ASKS_FOR_WORK = frozenset({DueState.NOT_KNOWN, DueState.OVERDUE})


class Basis(StrEnum):
    """Who set an interval for this very item."""

    MAKER = "maker"
    SCHEME = "scheme"  # written scheme of examination
    OWNER = "owner"


_BASIS_WORDS = {
    Basis.MAKER: "the maker's instructions",
    Basis.SCHEME: "the written scheme of examination",
    Basis.OWNER: "the owner's own figure",
}


@dataclass(frozen=True, slots=True)
class OwnInterval:
    """An interval in months for one check of one item, and what it rests on."""

    months: int
    basis: Basis


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """What is on record of one item. None and blank mean not recorded.

    `cylinder_rule` is an id of cylinder_retest.csv; `stamped_on` the first day of the month on
    the shoulder; `marked_on` the maker's date mark; `replace_by` the maker's last day;
    `requalify_by` a day the cylinder's owner gave. `passed` maps a check to the last day it
    was passed.
    """

    kind: str
    name: str
    regime: str
    cylinder_rule: str = ""
    stamped_on: date | None = None
    has_star: bool = False
    requalify_by: date | None = None
    marked_on: date | None = None
    replace_by: date | None = None
    passed: Mapping[str, date] = field(default_factory=dict)
    own: Mapping[str, OwnInterval] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Due:
    """One answer: what is due, from which day, and why. `due_on` is None without a day."""

    check: str
    label: str
    state: DueState
    due_on: date | None
    because: str
    source: str
    verified: str
    decided_by: str

    @property
    def asks_for_work(self) -> bool:
        """Whether it is due, or not known and so treated as due."""
        return self.state in ASKS_FOR_WORK

    def as_json(self) -> dict[str, str | None]:
        """Return what command, calendar and pack print."""
        return {
            "check": self.check,
            "label": self.label,
            "state": self.state.value,
            "due_on": self.due_on.isoformat() if self.due_on else None,
            "because": self.because,
            "source": self.source,
            "verified": self.verified,
            "decided_by": self.decided_by,
        }


_URGENCY = {state: place for place, state in enumerate(DueState)}


def due(item: ItemFacts, today: date) -> tuple[Due, ...]:
    """Return everything that falls due on an item, the most urgent first."""
    found = [_due(item, rule, today) for rule in checks_of(item.kind, item.regime)]
    return tuple(sorted(found, key=urgency))


def urgency(each: Due) -> tuple[int, date]:
    """Return a key that puts the longest overdue first, then what is not known."""
    return _URGENCY[each.state], each.due_on or date.max


def add_months(day: date, months: int) -> date:
    """Return the same day so many months later, the month's last where it has no such day.

    >>> add_months(date(2024, 2, 29), 12)
    datetime.date(2025, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def may_be_refilled(item: ItemFacts, today: date) -> str | None:
    """Return why a cylinder may not be filled today, or None where its date lies ahead.

    Out of date it may be emptied or returned as the rule says; a date that is not known is
    treated as past.
    """
    dated = next(each for each in due(item, today) if each.check == REQUALIFICATION)
    if not dated.asks_for_work:
        return None
    return f"{item.name} may be emptied or returned, not filled. {dated.because}"


def _due(item: ItemFacts, rule: CheckRule, today: date) -> Due:
    if rule.check == REQUALIFICATION:
        return _requalification(item, rule, today)
    own = item.own.get(rule.check)
    if rule.settled_by == "each fill" and own is None:
        return _answer(rule, DueState.EACH_FILL, None, "Looked at before each fill.")
    if rule.runs_from == "mark":
        return _replacement(item, rule, own, today)
    return _repeated(item, rule, own, today)


def _repeated(item: ItemFacts, rule: CheckRule, own: OwnInterval | None, today: date) -> Due:
    """A check that comes round, counted from the last time it was passed."""
    last = item.passed.get(rule.check)
    if rule.every is None and own is None:
        missing = "No code sets an interval here, and neither did the owner."
        return _not_known(rule, f"{missing} Set one in months, and on whose word.")
    if last is None:
        return _not_known(rule, "No passed check is on record.")
    day, why = min(_ends(last, rule, own))
    return _dated(rule, day, f"Passed {on_day(last)}; {why}.", today)


def _replacement(item: ItemFacts, rule: CheckRule, own: OwnInterval | None, today: date) -> Due:
    """An age limit, counted from the date mark; the maker's own last day goes before it."""
    if item.replace_by is not None:
        because = f"The maker gives {on_day(item.replace_by)} as the last day."
        return _dated(rule, item.replace_by, because, today)
    if rule.every is None and own is None:
        return _not_known(rule, "No age is published: the maker's date is not on record.")
    if item.marked_on is None:
        return _not_known(rule, "The date mark is not on record.")
    day, why = min(_ends(item.marked_on, rule, own))
    return _dated(rule, day, f"Date mark {item.marked_on:%Y-%m}; {why}.", today)


def _ends(start: date, rule: CheckRule, own: OwnInterval | None) -> Iterator[tuple[date, str]]:
    """Yield each interval's end. Maker and written scheme replace the rule's; the owner's only
    shortens it."""
    if own is not None:
        yield add_months(start, own.months), f"{own.months} months by {_BASIS_WORDS[own.basis]}"
    if rule.every is None or (own is not None and own.basis is not Basis.OWNER):
        return
    if rule.unit == "month":
        yield add_months(start, rule.every), f"every {rule.every} months by the rule"
    else:
        yield start + timedelta(days=rule.every), f"every {rule.every} days by the rule"


def _requalification(item: ItemFacts, rule: CheckRule, today: date) -> Due:
    row = cylinder_rule(item.cylinder_rule, today)
    if row.interval_word == NO_TEST:
        return _by_stamp(rule, row, DueState.NOT_ASKED, None, f"{row.cylinder_type}: {row.note}")
    if row.interval_years == 0:
        said = f"{row.cylinder_type.capitalize()}. {row.note}"
        return _by_stamp(rule, row, DueState.NOT_KNOWN, None, f"{said} {_TREAT}")
    days = list(_requalify_days(item, row))
    if not days:
        wanted = "the permit's date" if row.interval_word == AS_MARKED else "the stamp"
        missing = f"{row.cylinder_type}: {wanted} is not on record. {_TREAT}"
        return _by_stamp(rule, row, DueState.NOT_KNOWN, None, missing)
    day, why = min(days)
    because = f"{why}. {_overdue(day, today)}{_star(item, today)}".strip()
    return _by_stamp(rule, row, _state(day, today), day, because)


def _requalify_days(item: ItemFacts, row: CylinderRule) -> Iterator[tuple[date, str]]:
    if item.stamped_on is not None and row.interval_years is not None:
        day = add_months(item.stamped_on.replace(day=1), 12 * row.interval_years)
        stamp = f"{item.stamped_on:%Y-%m}"
        yield day, f"Stamped {stamp}; {row.interval_years} years for {row.cylinder_type}"
    if item.requalify_by is not None:
        day = item.requalify_by
        yield day, f"The cylinder's owner or permit gives {on_day(day)}"


_TREAT = "Not known: treat as due."


def _star(item: ItemFacts, today: date) -> str:
    return f" {cylinder_rule(STAR, today).note}" if item.has_star else ""


def _overdue(day: date, today: date) -> str:
    if today < day:
        return f"Due from {on_day(day)}."
    return f"Overdue since {on_day(day)}: no refill; may be emptied (to be confirmed)."


def _by_stamp(
    rule: CheckRule, row: CylinderRule, state: DueState, day: date | None, because: str
) -> Due:
    return Due(
        rule.check, rule.label, state, day, because, row.citation, row.verified, rule.decided_by
    )


def _not_known(rule: CheckRule, missing: str) -> Due:
    return _answer(rule, DueState.NOT_KNOWN, None, f"{missing} {_TREAT}")


def _dated(rule: CheckRule, day: date, because: str, today: date) -> Due:
    said = f"Overdue since {on_day(day)}." if today >= day else f"Due from {on_day(day)}."
    return _answer(rule, _state(day, today), day, f"{because} {said}")


def _answer(rule: CheckRule, state: DueState, day: date | None, because: str) -> Due:
    return Due(
        rule.check, rule.label, state, day, because, rule.citation, rule.verified, rule.decided_by
    )


def _state(day: date, today: date) -> DueState:
    if today >= day:
        return DueState.OVERDUE
    soon = figure("due.soon")
    return DueState.SOON if day - today <= timedelta(days=int(soon.value)) else DueState.LATER
