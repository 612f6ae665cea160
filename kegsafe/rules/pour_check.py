"""May I pour this keg? One question over everything on record, answered with every reason.

It fails closed: what is not recorded, not readable or out of date asks for the
manager, and only a whole and current record pours.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from kegsafe.rules.allergens import AllergenFact, Declaration, State, cross_contact, declare
from kegsafe.rules.codes import MissingRule
from kegsafe.rules.cold.fill_effect import OLD_READING, effect, shortened_use_by
from kegsafe.rules.cold.monitoring import longest_gap_s, reading_lasts
from kegsafe.rules.date_candidates import DATE_MARKING, limit_if_any
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.degrees import degrees
from kegsafe.rules.drawing import draw_checks, status_findings
from kegsafe.rules.facts import (
    EquipmentHistory,
    FillFacts,
    GlassItem,
    House,
    LotStatus,
    Part,
    PourFacts,
)
from kegsafe.rules.fill_checks import metal_findings, pressure_findings
from kegsafe.rules.findings import Finding, Outcome, Severity, gravest_first, outcome_of
from kegsafe.rules.holding import COLD, hold_drink_at_or_below
from kegsafe.rules.limits import effective_limit
from kegsafe.rules.moments import at_moment
from kegsafe.rules.sulphite import SulphiteAmount
from kegsafe.rules.use_by import UseByVerdict, use_by

GROWTH_CHARGE = "excursion.growth_charge"


@dataclass(frozen=True, slots=True)
class PourVerdict:
    """The answer, and everything a person needs to believe it."""

    outcome: Outcome
    use_by: datetime | None
    ready_from: datetime | None
    hold_at_or_below_degc: Decimal | None
    declaration: Declaration | None
    findings: tuple[Finding, ...]

    @property
    def reason(self) -> str:
        """Return what is read first: the gravest finding, or that none stands in the way."""
        if self.outcome is Outcome.POUR:
            return "Nothing on record stands in the way."
        return self.findings[0].in_short

    def as_json(self) -> dict[str, object]:
        """Return what the command prints and the record keeps."""
        return {
            "outcome": self.outcome.value,
            "use_by": self.use_by.isoformat() if self.use_by else None,
            "ready_from": self.ready_from.isoformat() if self.ready_from else None,
            "allergens": declaration_as_json(self.declaration),
            "findings": [finding.as_json() for finding in self.findings],
        }


@dataclass(frozen=True, slots=True)
class Case:
    """One keg at one moment, with its date already worked out, as the checks see it."""

    facts: PourFacts
    fill: FillFacts
    dated: UseByVerdict
    now: datetime

    @property
    def house(self) -> House:
        return self.facts.house

    @property
    def today(self) -> date:
        return day_one(self.now, self.house.zone, None)

    @property
    def hold_at_or_below_degc(self) -> Decimal | None:
        return hold_drink_at_or_below(
            self.fill.drink,
            self.house,
            self.today,
            treated_as_tcs=self.dated.tcs.treated_as_tcs,
        )

    def local(self, moment: datetime) -> str:
        """Return a moment in the venue's own time, as findings print it."""
        return at_moment(moment, self.house.zone)


def pour_check(facts: PourFacts, now: datetime) -> PourVerdict:
    """Return the live verdict on a keg at a moment. `now` must be aware."""
    if facts.fill is None:
        empty = _finding("keg.empty", Severity.STOP, f"{facts.keg.name} holds no drink.")
        return PourVerdict(Outcome.STOP, None, None, None, None, (empty,))
    case = Case(facts, facts.fill, _date_of(facts.fill, facts.house, now), now.astimezone(UTC))
    declaration = declaration_of(facts)
    findings = gravest_first(
        [
            *(finding for check in CHECKS for finding in check(case)),
            *_allergen_findings(declaration, facts.fill),
        ]
    )
    return PourVerdict(
        outcome=outcome_of(findings),
        use_by=case.dated.use_by,
        ready_from=facts.fill.ready_from,
        hold_at_or_below_degc=case.hold_at_or_below_degc,
        declaration=declaration,
        findings=findings,
    )


def _date_of(fill: FillFacts, house: House, now: datetime) -> UseByVerdict:
    """Return the date of a drink, shortened by its warm hours where the venue chose so.

    Warm hours never lengthen a date, and a drink without a date gets none by them.
    """
    verdict = use_by(fill.drink, house)
    history, on = fill.cold.history, day_one(now, house.zone, None)
    share = limit_if_any(house, GROWTH_CHARGE, on)
    if history is None or share is None or verdict.earliest is None:
        return verdict
    charged_h = history.charged_h * max(0.0, float(share.value)) / 100
    shortened = shortened_use_by(verdict.earliest.ends_at, charged_h)
    if shortened is None:
        return verdict
    return replace(
        verdict,
        use_by=shortened.ends_at if verdict.use_by is not None else None,
        candidates=(shortened, *verdict.candidates),
    )


def declaration_of(facts: PourFacts) -> Declaration:
    """Return the allergen declaration of a keg's drink: its own, and what equipment left."""
    fill = facts.fill
    assert fill is not None  # noqa: S101 - an empty keg declares nothing
    on = _made_on(fill, facts.house)
    return declare(
        (*fill.allergens, *_left_by_equipment(fill)),
        facts.house.code.allergen_regime,
        SulphiteAmount(fill.total_so2_mg_per_l),
        on,
    )


def declaration_as_json(declaration: Declaration | None) -> dict[str, object] | None:
    """Return a declaration as the command prints it and the fill keeps it."""
    if declaration is None:
        return None
    lists = {
        "contains": declaration.contains,
        "may_contain": declaration.may_contain,
        "not_known": declaration.not_known,
        "also_contains": declaration.also_contains,
    }
    return {
        "list": declaration.regime,
        "statement": declaration.statement,
        **{name: [each.display_name for each in declared] for name, declared in lists.items()},
    }


def _left_by_equipment(fill: FillFacts) -> Iterator[AllergenFact]:
    own = frozenset(fact.source for fact in fill.allergens if fact.state is State.CONTAINS)
    for history in _histories(fill):
        for source in sorted(cross_contact(history.residue, own)):
            yield AllergenFact(source, State.MAY_CONTAIN, None, f"last drink in {history.name}")


def _histories(fill: FillFacts) -> tuple[EquipmentHistory, ...]:
    return tuple(filter(None, (fill.keg_history, fill.line_history)))


# The checks, in the order a careful person would make them

_STATE_WORDS = {"on_hold": "On hold", "emptied": "Emptied", "discarded": "Discarded"}


def keg_may_be_used(case: Case) -> Iterator[Finding]:
    if not case.facts.keg.in_use:
        reason = case.facts.keg.service_reason or "no reason recorded"
        yield _finding(
            "keg.out_of_service",
            Severity.STOP,
            f"{case.facts.keg.name} is out of service: {reason}.",
        )
    yield from pressure_findings(case.facts.keg, case.fill.set_gauge_pa)
    yield from metal_findings(
        case.facts.keg.name,
        case.facts.keg.metal,
        case.fill.drink.measured_ph,
        case.house,
        _made_on(case.fill, case.house),
    )


def fill_is_not_on_hold(case: Case) -> Iterator[Finding]:
    if case.fill.state != "in_keg":
        word = _STATE_WORDS.get(case.fill.state, "Not in the keg")
        yield _finding(
            f"fill.{case.fill.state}",
            Severity.STOP,
            f"{word}: {case.fill.state_reason or 'no reason recorded'}.",
        )


def drink_has_rested(case: Case) -> Iterator[Finding]:
    if case.now < case.fill.drink.filled_at:
        yield _finding(
            "fill.in_the_future",
            Severity.ASK,
            "The keg is recorded as filled later than now. Check the clock and the record.",
        )
    elif case.now < case.fill.ready_from:
        yield Finding(
            "fill.resting",
            Severity.ASK,
            f"Still resting: ready from {case.local(case.fill.ready_from)}.",
            "common practice, no source",
            "common practice",
        )


def lots_are_sound(case: Case) -> Iterator[Finding]:
    if not case.fill.drink.parts:
        yield _finding(
            "fill.no_lots",
            Severity.ASK,
            "No lot is on record for this drink: nothing is known of what went into it.",
        )
    for part in case.fill.drink.parts:
        if part.status is LotStatus.DISCARDED:
            yield _leftovers_discarded(part)
        else:
            yield from status_findings(part)


def _leftovers_discarded(part: Part) -> Finding:
    """Throwing away what was left of a lot says nothing of what is in the keg: a hold does."""
    reason = f": {part.status_reason}" if part.status_reason else ""
    return _finding(
        "lot.leftovers_discarded",
        Severity.WARN,
        f"What was left of {part.name} was discarded{reason}. If something was wrong with it, "
        "put this keg on hold.",
    )


def equipment_was_cleaned(case: Case) -> Iterator[Finding]:
    for history in _histories(case.fill):
        since = history.previous_use_ended_at
        if history.cleaned_at is None:
            yield _finding(
                "cleaning.none", Severity.ASK, f"No cleaning of {history.name} is on record."
            )
        elif since is not None and history.cleaned_at < since:
            yield _finding(
                "cleaning.before_last_drink",
                Severity.ASK,
                f"{history.name} was not cleaned after it carried {history.previous_drink}.",
            )
        else:
            yield _finding(
                "cleaning.on_record",
                Severity.NOTE,
                f"{history.name} was cleaned {case.local(history.cleaned_at)}.",
            )


def line_and_gear_are_in_order(case: Case) -> Iterator[Finding]:
    """What cleaning says of keg and line, and failed gear, was judged in their own rooms."""
    yield from case.fill.line_findings
    yield from case.fill.due_findings
    yield from case.fill.gear_findings


def keg_is_cold(case: Case) -> Iterator[Finding]:
    cold = case.fill.cold
    if cold.place is None:
        yield _finding(
            "cold_holding.no_place", Severity.ASK, "Where this keg stands is not on record."
        )
        return
    if cold.read_at is None or cold.temperature_degc is None:
        yield _finding(
            "cold_holding.no_reading",
            Severity.ASK,
            f"No temperature of {cold.place} is on record. Read it and record it.",
        )
        return
    yield from _age_of_the_last_reading(case, cold.read_at)
    yield from _temperature_findings(case)


def _age_of_the_last_reading(case: Case, read_at: datetime) -> Iterator[Finding]:
    lasts = reading_lasts(case.house, case.today)
    yield from lasts.findings
    if _is_old(case, read_at):
        yield Finding(
            OLD_READING,
            Severity.ASK,
            f"The last temperature of {case.fill.cold.place} was read {case.local(read_at)}. An "
            "unread hour is not a cold hour: read it now.",
            lasts.citation,
            lasts.verified,
        )


def _is_old(case: Case, read_at: datetime) -> bool:
    gap_s = longest_gap_s(case.fill.cold.interval_s, case.house, case.today)
    return not timedelta(0) <= case.now - read_at <= timedelta(seconds=gap_s)


def drink_was_kept_cold(case: Case) -> Iterator[Finding]:
    """Judge where the drink stood since it was filled, under the rules of today."""
    history, read_at = case.fill.cold.history, case.fill.cold.read_at
    if history is None:
        yield _finding(
            "excursion.no_history",
            Severity.ASK,
            "How cold this drink was kept since it was filled is not on record.",
        )
        return
    # Of a place not read since, the last reading is named already.
    is_said = read_at is not None and _is_old(case, read_at)
    is_tcs = case.dated.tcs.treated_as_tcs
    for finding in effect(history, case.house, case.today, is_tcs=is_tcs):
        if not (is_said and finding.rule == OLD_READING):
            yield finding


def glass_is_in_order(case: Case) -> Iterator[Finding]:
    for item in case.fill.glass:
        yield from _glass_findings(item, case)


def _temperature_findings(case: Case) -> Iterator[Finding]:
    """Judge the last reading against the code's limit and the drink's own."""
    cold, house = case.fill.cold, case.house
    degc = cold.temperature_degc
    assert degc is not None  # noqa: S101 - keg_is_cold has looked
    try:
        limit = effective_limit(house.code, COLD, case.today, house.local_limits)
    except MissingRule as silence:
        yield Finding(COLD, Severity.ASK, str(silence), house.code.name)
        return
    yield from limit.findings
    read = f"{cold.place} read {degrees(degc)}"
    most = degrees(limit.value)
    if degc > limit.value:
        severity, what_follows = _too_warm(case.dated.tcs.treated_as_tcs)
        headline = f"{read}, above the limit of {most}."
        statement = f"{headline} {what_follows}"
    else:
        severity, headline = Severity.NOTE, ""
        statement = f"{read}; the limit is {most}."
    yield Finding(COLD, severity, statement, limit.citation, limit.verified, headline=headline)
    held = case.hold_at_or_below_degc
    if held is not None and limit.value > held and degc > held:
        yield _finding(
            "shelf_life.held_too_warm",
            Severity.ASK,
            f"The drink's date holds at or below {degrees(held)}; {read}.",
        )


def _too_warm(is_tcs: bool) -> tuple[Severity, str]:
    if is_tcs:
        return Severity.STOP, (
            "This drink needs time/temperature control: the manager decides what becomes of it."
        )
    return Severity.WARN, (
        "On record this drink needs no temperature control: a matter of quality."
    )


def _glass_findings(item: GlassItem, case: Case) -> Iterator[Finding]:
    if not item.lots:
        yield _finding(
            "glass.no_lot",
            Severity.ASK,
            f"In the glass: no lot of {item.ingredient} is in stock on record.",
        )
    for lot in item.lots:
        blocked = [
            finding
            for finding in draw_checks(lot, case.house, case.now)
            if finding.severity in {Severity.STOP, Severity.ASK}
        ]
        for finding in blocked:
            yield Finding(
                f"glass.{finding.rule}",
                Severity.ASK,
                _instead(finding.statement),
                finding.source,
                finding.verified,
                headline=_instead(finding.in_short),
            )
        if not blocked:
            yield _finding("glass.in_date", Severity.NOTE, f"In the glass: {lot.name} is in date.")


def _instead(statement: str) -> str:
    return f"In the glass: {statement} Take another lot, or set this one aside."


def drink_is_in_date(case: Case) -> Iterator[Finding]:
    dated, earliest = case.dated, case.dated.earliest
    yield from dated.findings
    for candidate in dated.candidates:
        yield candidate.as_finding(binds=candidate is earliest)
    if earliest is not None and case.now > earliest.ends_at:
        past = f"Past its date since {case.local(earliest.ends_at)}."
        yield Finding(
            "use_by.passed",
            Severity.STOP,
            f"{past} {earliest.because}",
            earliest.source,
            earliest.verified,
            headline=past,
        )
    elif dated.use_by is None and _needs_a_date(case):
        yield Finding(
            "date_marking.no_date",
            Severity.STOP,
            "No date can be given, and this drink needs one: food without its date mark is "
            "discarded.",
            "FDA Food Code 3-501.18, as adopted by Virginia (2VAC5-585-840)",
            "read",
        )


def _needs_a_date(case: Case) -> bool:
    return case.dated.tcs.treated_as_tcs and case.house.code.has(DATE_MARKING, case.today)


CHECKS: tuple[Callable[[Case], Iterator[Finding]], ...] = (
    keg_may_be_used,
    fill_is_not_on_hold,
    drink_has_rested,
    lots_are_sound,
    equipment_was_cleaned,
    line_and_gear_are_in_order,
    keg_is_cold,
    drink_was_kept_cold,
    glass_is_in_order,
    drink_is_in_date,
)


def _allergen_findings(declaration: Declaration, fill: FillFacts) -> Iterator[Finding]:
    own = frozenset(fact.source for fact in fill.allergens if fact.state is State.CONTAINS)
    for history in _histories(fill):
        left = cross_contact(history.residue, own)
        if not left:
            continue
        signed = history is fill.keg_history and left <= fill.cross_contact_accepted
        yield _finding(
            "allergens.left_by_last_drink",
            Severity.WARN if signed else Severity.ASK,
            f"{history.name} last carried {history.previous_drink or 'another drink'}: may "
            f"contain {', '.join(sorted(left))}. No verified allergen clean since.",
        )
    for name in fill.ingredients_with_unknown_allergens:
        yield _finding(
            "allergens.not_known",
            Severity.ASK,
            f"The allergens of {name} are not known. Read the label or ask the supplier; until "
            "then tell the guest that they are not known.",
        )
    yield from declaration.findings
    yield _finding("allergens.declared", Severity.NOTE, declaration.statement)


def _made_on(fill: FillFacts, house: House) -> date:
    return day_one(fill.drink.made_at, house.zone, fill.drink.business_date)


def _finding(rule: str, severity: Severity, statement: str) -> Finding:
    return Finding(rule, severity, statement, "Record of this venue", "record")
