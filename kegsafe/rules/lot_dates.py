"""How long one lot lasts: the maker's date, the shelf-life rules, the code's day count."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import chain

from kegsafe.rules.date_candidates import (
    DATE_MARKING,
    Candidate,
    date_marking_days,
    freeze_convention,
    frozen_in_words,
    in_days,
    rule_does_not_count,
    shelf_life_candidate,
    undated,
    unsigned_rules,
)
from kegsafe.rules.date_marking import counted_last_date, day_one, end_of
from kegsafe.rules.facts import DateKind, House, Part, Trigger
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.moments import on_day
from kegsafe.rules.tcs import ProductAssessment, TcsFacts, TcsVerdict, tcs_status


@dataclass(frozen=True, slots=True)
class PartDates:
    """What one lot says about how long it lasts."""

    candidates: tuple[Candidate, ...]
    findings: tuple[Finding, ...]
    is_dated: bool


def part_dates(
    part: Part,
    house: House,
    on: date,
    *,
    filled_at: datetime | None = None,
    cap_lifted_by: ProductAssessment | None = None,
) -> PartDates:
    """Return how long one lot lasts: maker's date, shelf-life rules, the code's day count.

    `filled_at` is when it went into a keg, None while it stands in stock.
    `cap_lifted_by` is an assessment of the whole drink that replaces the
    code's day count of its parts.
    """
    in_a_drink = filled_at is not None
    tcs = _tcs_of_part(part, on, in_a_drink=in_a_drink)
    candidates = [*_makers_date(part, house)]
    if tcs.treated_as_tcs and cap_lifted_by is None:
        candidates += _date_marking_of_part(part, house, on)
    candidates += _shelf_life_candidates(part, house, filled_at)
    missing = list(_what_is_missing(part, tcs, in_a_drink=in_a_drink))
    if tcs.treated_as_tcs and not candidates and not missing and cap_lifted_by is None:
        missing += _nothing_dates(part, in_a_drink=in_a_drink)
    findings = [
        *missing,
        *_best_before_warning(part, house),
        *unsigned_rules(part.shelf_lives, part),
    ]
    if cap_lifted_by is None:
        findings += _longer_than_the_code(part, house, on, tcs)
    return PartDates(tuple(candidates), tuple(findings), is_dated=not missing)


def dates_in_stock(part: Part, house: House, on: date) -> PartDates:
    """Return how long a lot lasts in stock: mixing resets no clock of any lot behind it."""
    each = [part_dates(one, house, on) for one in (part, *part.behind)]
    return PartDates(
        candidates=tuple(chain.from_iterable(dates.candidates for dates in each)),
        findings=tuple(chain.from_iterable(dates.findings for dates in each)),
        is_dated=all(dates.is_dated for dates in each),
    )


def _tcs_of_part(part: Part, on: date, *, in_a_drink: bool) -> TcsVerdict:
    # What went into a drink was opened, whether or not anybody wrote it down.
    unopened = part.opened_at is None and not part.is_prepared and not in_a_drink
    return tcs_status(
        TcsFacts(
            category=part.category,
            ph=part.measured_ph,
            water_activity=part.measured_water_activity,
            heat_treated_and_packaged=part.heat_treated_and_packaged,
            shelf_stable_unopened=part.shelf_stable_unopened and unopened,
            assessment=part.assessment,
        ),
        on,
    )


def _what_is_missing(part: Part, tcs: TcsVerdict, *, in_a_drink: bool) -> Iterator[Finding]:
    if part.is_prepared and part.prepared_at is None:
        yield undated(f"the day {part.name} was prepared is recorded")
    bought_and_used = in_a_drink and not part.is_prepared
    if bought_and_used and tcs.treated_as_tcs and part.opened_at is None:
        yield undated(f"the day {part.name} was opened is recorded")
    if part.date_mark_exempt and part.date_kind is DateKind.NONE and not part.shelf_lives:
        yield undated(
            f"{part.name} has the maker's date or a shelf-life rule",
            "The code's day count does not apply to it; its own date does.",
        )


def _nothing_dates(part: Part, *, in_a_drink: bool) -> Iterator[Finding]:
    """A pack in stock may wait for a rule that runs from its opening; a drink may not."""
    waits_for_its_rule = part.shelf_lives and part.opened_at is None and not part.is_prepared
    if in_a_drink or not waits_for_its_rule:
        yield undated(f"{part.name} has a use-by date or a shelf-life rule")


def _makers_date(part: Part, house: House) -> Iterator[Candidate]:
    binds = part.date_kind is DateKind.USE_BY or (
        part.date_kind is DateKind.BEST_BEFORE and house.best_before_binds
    )
    if binds and part.date_on is not None:
        words = "use-by" if part.date_kind is DateKind.USE_BY else "best-before"
        yield Candidate(
            end_of(part.date_on, house.zone),
            f"lot.{part.date_kind.value}",
            f"The {words} of {part.name} is {on_day(part.date_on)}.",
            "Date on the pack",
            "record",
        )


def _date_marking_of_part(part: Part, house: House, on: date) -> Iterator[Candidate]:
    if part.date_mark_exempt:
        return
    limit = date_marking_days(house, on)
    began = part.prepared_at if part.is_prepared else part.opened_at
    if limit is None or began is None:
        return
    first = day_one(began, house.zone, part.business_date)
    last = counted_last_date(first, int(limit.value), part.frozen, freeze_convention(house, on))
    verb = "prepared" if part.is_prepared else "opened"
    paused = frozen_in_words(first, last, int(limit.value))
    yield Candidate(
        end_of(last, house.zone),
        DATE_MARKING,
        f"{part.name} was {verb} on {on_day(first)}: {in_days(int(limit.value))}, that day being "
        f"day 1{paused}, and mixing does not restart the count.",
        limit.citation,
        limit.verified,
    )


def _shelf_life_candidates(
    part: Part, house: House, filled_at: datetime | None
) -> Iterator[Candidate]:
    for rule in part.shelf_lives:
        began = _event(part, rule.trigger, filled_at)
        if began is not None:
            yield shelf_life_candidate(rule, began, house, part.name, part)


def _event(part: Part, trigger: Trigger, filled_at: datetime | None) -> datetime | None:
    match trigger:
        case Trigger.OPENED:
            return part.opened_at
        case Trigger.PREPARED:
            return part.prepared_at
        case Trigger.KEGGED:
            return filled_at
        case Trigger.THAWED:
            return part.thawed_at


def _best_before_warning(part: Part, house: House) -> Iterator[Finding]:
    if part.date_kind is DateKind.BEST_BEFORE and not house.best_before_binds and part.date_on:
        yield Finding(
            "lot.best_before",
            Severity.NOTE,
            f"The best-before of {part.name} is {on_day(part.date_on)}. It speaks of quality and "
            "does not bind here.",
            "Date on the pack",
            "record",
        )


def _longer_than_the_code(part: Part, house: House, on: date, tcs: TcsVerdict) -> Iterator[Finding]:
    cap = date_marking_days(house, on)
    if cap is None or not tcs.treated_as_tcs or part.date_mark_exempt:
        return
    for rule in part.shelf_lives:
        if rule.days is not None and rule.days > int(cap.value):
            yield rule_does_not_count(part.ingredient, rule, cap)
