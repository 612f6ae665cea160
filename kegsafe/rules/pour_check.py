"""May I pour this keg? One question over everything on record, answered with every reason.

It fails closed: what is not recorded, not readable or out of date asks for the
manager, and only a whole and current record pours.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from kegsafe.rules.allergens import AllergenFact, Declaration, State, cross_contact, declare
from kegsafe.rules.codes import MissingRule
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.drawing import draw_checks, status_findings
from kegsafe.rules.facts import EquipmentHistory, FillFacts, GlassItem, House, PourFacts
from kegsafe.rules.fill_checks import metal_findings, pressure_findings
from kegsafe.rules.findings import Finding, Outcome, Severity, gravest_first, outcome_of
from kegsafe.rules.limits import effective_limit
from kegsafe.rules.practice import practice
from kegsafe.rules.sulphite import SulphiteAmount
from kegsafe.rules.use_by import DATE_MARKING, UseByVerdict, use_by

COLD = "cold_holding.maximum"


@dataclass(frozen=True, slots=True)
class PourVerdict:
    """The answer, and everything a person needs to believe it."""

    outcome: Outcome
    use_by: datetime | None
    ready_from: datetime | None
    declaration: Declaration | None
    findings: tuple[Finding, ...]

    @property
    def reason(self) -> str:
        """Return the gravest finding in words: what is read first."""
        return self.findings[0].statement

    def as_json(self) -> dict[str, object]:
        """Return what the command prints and the record keeps."""
        return {
            "outcome": self.outcome.value,
            "use_by": self.use_by.isoformat() if self.use_by else None,
            "ready_from": self.ready_from.isoformat() if self.ready_from else None,
            "allergens": declaration_as_json(self.declaration),
            "findings": [finding.as_json() for finding in self.findings],
        }


def pour_check(facts: PourFacts, now: datetime) -> PourVerdict:
    """Return the live verdict on a keg at a moment. `now` must be aware."""
    if facts.fill is None:
        empty = _finding("keg.empty", Severity.STOP, f"{facts.keg.name} holds no drink.")
        return PourVerdict(Outcome.STOP, None, None, None, (empty,))
    fill, now = facts.fill, now.astimezone(UTC)
    dated = use_by(fill.drink, facts.house)
    declaration = declaration_of(facts)
    findings = gravest_first(
        [
            *(finding for check in CHECKS for finding in check(facts, fill, now)),
            *_date_findings(dated, facts.house, now),
            *_allergen_findings(declaration, fill),
        ]
    )
    return PourVerdict(outcome_of(findings), dated.use_by, fill.ready_from, declaration, findings)


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


def keg_may_be_used(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    if not facts.keg.in_use:
        reason = facts.keg.service_reason or "no reason recorded"
        yield _finding(
            "keg.out_of_service", Severity.STOP, f"{facts.keg.name} is out of service: {reason}."
        )
    yield from pressure_findings(facts.keg, fill.set_gauge_pa)
    yield from metal_findings(
        facts.keg.name,
        facts.keg.metal,
        fill.drink.measured_ph,
        facts.house,
        _made_on(fill, facts.house),
    )


def fill_is_not_on_hold(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    if fill.state != "in_keg":
        words = {"on_hold": "On hold", "emptied": "Emptied", "discarded": "Discarded"}
        yield _finding(
            f"fill.{fill.state}",
            Severity.STOP,
            f"{words.get(fill.state, 'Not in the keg')}: {fill.state_reason or 'no reason'}.",
        )


def drink_has_rested(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    if now < fill.drink.filled_at:
        yield _finding(
            "fill.in_the_future",
            Severity.ASK,
            "The keg is recorded as filled later than now. Check the clock and the record.",
        )
    elif now < fill.ready_from:
        ready = fill.ready_from.astimezone(facts.house.zone)
        yield Finding(
            "fill.resting",
            Severity.ASK,
            f"Still resting: ready from {ready:%Y-%m-%d (%a) %H:%M}.",
            "common practice, no source",
            "common practice",
        )


def lots_are_sound(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    if not fill.drink.parts:
        yield _finding(
            "fill.no_lots",
            Severity.ASK,
            "No lot is on record for this drink: nothing is known of what went into it.",
        )
    for part in fill.drink.parts:
        yield from status_findings(part)


def equipment_was_cleaned(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    for history in _histories(fill):
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
            cleaned = history.cleaned_at.astimezone(facts.house.zone)
            yield _finding(
                "cleaning.on_record",
                Severity.NOTE,
                f"{history.name} was cleaned {cleaned:%Y-%m-%d (%a) %H:%M}.",
            )


def keg_is_cold(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    cold = fill.cold
    if cold.place is None:
        yield _finding(
            "cold_holding.no_place", Severity.ASK, "Where this keg stands is not on record."
        )
        return
    lasts = practice("cold_holding.reading_lasts")
    if cold.read_at is None or cold.temperature_degc is None:
        yield _finding(
            "cold_holding.no_reading",
            Severity.ASK,
            f"No temperature of {cold.place} is on record. Read it and record it.",
        )
        return
    age = now - cold.read_at
    if age > timedelta(hours=float(lasts.value)) or age < timedelta(0):
        at = cold.read_at.astimezone(facts.house.zone)
        yield Finding(
            "cold_holding.old_reading",
            Severity.ASK,
            f"The last temperature of {cold.place} was read {at:%Y-%m-%d (%a) %H:%M}. An unread "
            "hour is not a cold hour: read it now.",
            lasts.source,
            lasts.verified,
        )
    yield from _temperature_findings(facts, fill, now)


def glass_is_in_order(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    for item in fill.glass:
        yield from _glass_findings(item, facts.house, now)


CHECKS: tuple[Callable[[PourFacts, FillFacts, datetime], Iterator[Finding]], ...] = (
    keg_may_be_used,
    fill_is_not_on_hold,
    drink_has_rested,
    lots_are_sound,
    equipment_was_cleaned,
    keg_is_cold,
    glass_is_in_order,
)


def _temperature_findings(facts: PourFacts, fill: FillFacts, now: datetime) -> Iterator[Finding]:
    """Judge the last reading against the code's limit and the drink's own."""
    cold, house, on = fill.cold, facts.house, day_one(now, facts.house.zone, None)
    assert cold.temperature_degc is not None  # noqa: S101 - keg_is_cold has looked
    try:
        limit = effective_limit(house.code, COLD, on, house.local_limits)
    except MissingRule as silence:
        yield Finding(COLD, Severity.ASK, str(silence), house.code.name)
        return
    yield from limit.findings
    tcs = use_by(fill.drink, house).tcs.treated_as_tcs
    at = f"{cold.place} read {cold.temperature_degc.normalize():f} °C"
    if cold.temperature_degc > limit.value:
        yield Finding(
            COLD,
            Severity.STOP if tcs else Severity.WARN,
            f"{at}, above the limit of {limit.value.normalize():f} °C. "
            + (
                "This drink needs time/temperature control: the manager decides what becomes of it."
                if tcs
                else "On record this drink needs no temperature control: a matter of quality."
            ),
            limit.citation,
            limit.verified,
        )
    else:
        yield Finding(
            COLD,
            Severity.NOTE,
            f"{at}; the limit is {limit.value.normalize():f} °C.",
            limit.citation,
            limit.verified,
        )
    for rule in fill.drink.shelf_lives:
        held = rule.held_at_or_below_degc
        if held is not None and cold.temperature_degc > held:
            yield _finding(
                "shelf_life.held_too_warm",
                Severity.ASK,
                f"The drink's shelf life holds at or below {held.normalize():f} °C; {at}.",
            )


def _glass_findings(item: GlassItem, house: House, now: datetime) -> Iterator[Finding]:
    if not item.lots:
        yield _finding(
            "glass.no_lot",
            Severity.ASK,
            f"In the glass: no lot of {item.ingredient} is in stock on record.",
        )
    for lot in item.lots:
        blocked = [
            finding
            for finding in draw_checks(lot, house, now)
            if finding.severity in {Severity.STOP, Severity.ASK}
        ]
        for finding in blocked:
            yield Finding(
                f"glass.{finding.rule}",
                Severity.ASK,
                f"In the glass: {finding.statement} Take another lot, or set this one aside.",
                finding.source,
                finding.verified,
            )
        if not blocked:
            yield _finding("glass.in_date", Severity.NOTE, f"In the glass: {lot.name} is in date.")


def _date_findings(dated: UseByVerdict, house: House, now: datetime) -> Iterator[Finding]:
    yield from dated.findings
    earliest = dated.earliest
    for candidate in dated.candidates:
        yield candidate.as_finding(binds=candidate is earliest)
    if earliest is not None and now > earliest.ends_at:
        yield Finding(
            "use_by.passed",
            Severity.STOP,
            f"Past its date since {earliest.ends_at:%Y-%m-%d (%a) %H:%M}. {earliest.because}",
            earliest.source,
            earliest.verified,
        )
    elif (
        dated.use_by is None
        and dated.tcs.treated_as_tcs
        and house.code.has(DATE_MARKING, day_one(now, house.zone, None))
    ):
        yield Finding(
            "date_marking.no_date",
            Severity.STOP,
            "No date can be given, and this drink needs one: food without its date mark is "
            "discarded.",
            "FDA Food Code 3-501.18, as adopted by Virginia (2VAC5-585-840)",
            "read",
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


def _made_on(fill: FillFacts, house: House):
    return day_one(fill.drink.made_at, house.zone, fill.drink.business_date)


def _finding(rule: str, severity: Severity, statement: str) -> Finding:
    return Finding(rule, severity, statement, "Record of this venue", "venue")
