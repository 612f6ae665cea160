"""May this drink go into this keg? Asked before the fill, answered with every reason at once."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_DOWN, ROUND_UP, Decimal

from kegsafe.rules.allergens import cross_contact
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.drawing import status_findings
from kegsafe.rules.facts import Drink, EquipmentHistory, House, KegFacts, LidValve, LotStatus
from kegsafe.rules.findings import Finding, Severity, gravest_first
from kegsafe.rules.limits import effective_limit
from kegsafe.rules.moments import at_moment
from kegsafe.rules.practice import practice
from kegsafe.rules.pressure.figures import figure
from kegsafe.rules.use_by import use_by

COPPER_ALLOYS = frozenset({"copper", "brass", "bronze"})


@dataclass(frozen=True, slots=True)
class FillPlan:
    """A fill somebody wants to make. Volumes in ml, pressure gauge in Pa.

    `drink_sources` are the allergenic sources of the drink itself,
    `accepted_sources` those of the last drink that a person has signed to
    declare as 'may contain'. `gear_findings` is what stands against the keg's pressure equipment.
    """

    keg: KegFacts
    capacity_ml: Decimal
    is_empty: bool
    history: EquipmentHistory
    drink: Drink
    volume_ml: Decimal
    set_gauge_pa: Decimal
    drink_sources: frozenset[str]
    accepted_sources: frozenset[str] = frozenset()
    gear_findings: tuple[Finding, ...] = ()


def fill_checks(plan: FillPlan, house: House, now: datetime) -> tuple[Finding, ...]:
    """Return every finding about a planned fill, gravest first; a stop means do not fill."""
    return gravest_first(finding for check in CHECKS for finding in check(plan, house, now))


def keg_is_in_service(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    if not plan.keg.in_use:
        yield _stop(
            "keg.out_of_service",
            f"{plan.keg.name} is out of service: "
            f"{plan.keg.service_reason or 'no reason recorded'}.",
        )


def keg_is_empty(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    if not plan.is_empty:
        yield _stop(
            "keg.still_full",
            f"{plan.keg.name} still holds a drink. Record it emptied or discarded first: adding "
            "to it would make the old drink an ingredient of the new one.",
        )


def keg_is_big_enough(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    head_space = practice("fill.minimum_head_space")
    most = plan.capacity_ml * (1 - head_space.value / 100)
    if plan.volume_ml > most:
        yield Finding(
            "fill.head_space",
            Severity.STOP,
            f"{_litres(plan.volume_ml)} leaves less than {head_space.value.normalize():f} % head "
            f"space in {plan.keg.name} ({_litres(plan.capacity_ml)}). Fill at most "
            f"{_litres(most)}.",
            head_space.source,
            head_space.verified,
        )


def keg_bears_the_pressure(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    yield from pressure_findings(plan.keg, plan.set_gauge_pa)


def gear_is_in_order(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    """A valve that is out of service or a keg that failed was judged with the equipment."""
    yield from plan.gear_findings


def keg_was_cleaned(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    history = plan.history
    if history.cleaned_at is None or (
        history.previous_use_ended_at is not None
        and history.cleaned_at < history.previous_use_ended_at
    ):
        last = f" since it held {history.previous_drink}" if history.previous_drink else ""
        yield _stop(
            "keg.not_cleaned",
            f"No cleaning of {plan.keg.name} is on record{last}. Clean it and record the clean.",
        )


def metals_stand_the_drink(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    on = day_one(now, house.zone, None)
    yield from metal_findings(plan.keg.name, plan.keg.metal, plan.drink.measured_ph, house, on)


def last_drink_left_no_allergen(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    left = cross_contact(plan.history.residue, plan.drink_sources)
    unsigned = sorted(left - plan.accepted_sources)
    if unsigned:
        yield _stop(
            "keg.allergen_left",
            f"{plan.keg.name} last held {plan.history.previous_drink or 'another drink'}, which "
            f"left {', '.join(unsigned)}. No verified allergen clean is on record since. Clean "
            "and verify it, or sign to declare the drink as 'may contain'.",
        )
    elif left:
        yield _warn(
            "keg.allergen_declared",
            f"Declared as 'may contain' from the last drink in {plan.keg.name}: "
            f"{', '.join(sorted(left))}.",
        )


def lots_may_be_used(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    """A lot put on hold after the mixing holds the batch; one thrown away since does not."""
    for part in plan.drink.parts:
        if part.status is not LotStatus.DISCARDED:
            yield from status_findings(part)


def drink_is_in_date(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    earliest = use_by(plan.drink, house).earliest
    if earliest is not None and earliest.ends_at < plan.drink.filled_at:
        yield Finding(
            "fill.past_its_date",
            Severity.STOP,
            f"The drink ended {at_moment(earliest.ends_at)}: it may not be filled after "
            f"that. {earliest.because}",
            earliest.source,
            earliest.verified,
        )


def trade_warnings(plan: FillPlan, house: House, now: datetime) -> Iterator[Finding]:
    """What bars have learned: a reason to think, never a stop, except raw egg."""
    groups = {part.warning_group: part.ingredient for part in plan.drink.parts if not part.in_glass}
    if "citrus_juice" in groups:
        yield _practice(
            "fill.citrus_juice",
            f"{groups['citrus_juice']} in a keg tastes of metal after a couple of days. Add it "
            "in the glass.",
        )
    if "dairy" in groups:
        yield _practice(
            "fill.dairy",
            f"{groups['dairy']} in a keg fouls keg, line and tap. Add it in the glass.",
        )
    if "raw_egg" in groups:
        yield Finding(
            "fill.raw_egg",
            Severity.STOP,
            f"{groups['raw_egg']} is raw egg, pooled and held. Use a pasteurised egg product; ask "
            "the authority.",
            "FDA Food Code 3-302.13, as adopted by Wisconsin",
            "read",
        )


CHECKS: tuple[Callable[[FillPlan, House, datetime], Iterator[Finding]], ...] = (
    keg_is_in_service,
    keg_is_empty,
    keg_is_big_enough,
    keg_bears_the_pressure,
    gear_is_in_order,
    keg_was_cleaned,
    metals_stand_the_drink,
    last_drink_left_no_allergen,
    lots_may_be_used,
    drink_is_in_date,
    trade_warnings,
)


def pressure_findings(keg: KegFacts, set_gauge_pa: Decimal) -> Iterator[Finding]:
    """Yield a stop for a set pressure above the keg's rating, or at what opens a valve on its lid.

    No rating on record is a stop; a valve whose setting is not on record is an ask.
    """
    if keg.rated_gauge_pa is None:
        yield _stop(
            "keg.no_rating",
            f"No rated pressure is on record for {keg.name}: not allowed under pressure. Copy "
            "it from the maker's plate; ask a competent person when the plate cannot be read.",
        )
    elif set_gauge_pa > keg.rated_gauge_pa:
        yield _stop(
            "keg.over_rating",
            f"{_bar(set_gauge_pa, ROUND_UP)} is above the rated "
            f"{_bar(keg.rated_gauge_pa, ROUND_DOWN)} of {keg.name}. "
            "Set the regulator lower, and relieve the keg before opening it.",
        )
    for valve in keg.lid_valves:
        yield from _lid_valve_findings(keg, valve, set_gauge_pa)


def _lid_valve_findings(keg: KegFacts, valve: LidValve, set_gauge_pa: Decimal) -> Iterator[Finding]:
    opens = valve.opens_gauge_pa
    if opens is None:
        yield Finding(
            "keg.no_relief_setting",
            Severity.ASK,
            f"At which pressure {valve.name} on the lid of {keg.name} opens is not recorded: not "
            "allowed to count on. Read the setting off the valve and record it; ask a competent "
            "person when it cannot be read.",
            "Record of the equipment",
            "record",
        )
        return
    figures = (
        f"{_bar(set_gauge_pa, ROUND_UP)}, and {valve.name} on the lid of {keg.name} opens at "
        f"{_bar(opens, ROUND_DOWN)}"
    )
    share = figure("set_pressure.relief_share")
    if set_gauge_pa >= opens:
        yield _stop(
            "keg.over_relief",
            f"The set pressure is {figures}. Set the regulator lower; never plug, adjust or swap "
            "the valve to hold more.",
        )
    elif set_gauge_pa > opens * share.value / 100:
        yield Finding(
            "keg.near_relief",
            Severity.WARN,
            f"The set pressure is {figures}: more than {share.value.normalize():f} % of it, so it "
            "may weep. A regulator is not to be set that high.",
            share.source,
            share.verified,
        )


def metal_findings(
    name: str, metal: str, measured_ph: Decimal | None, house: House, on: date
) -> Iterator[Finding]:
    """Yield a stop for copper, brass or bronze under an acid drink, or one of unknown pH."""
    limit = effective_limit(house.code, "metals.copper_minimum_ph", on, house.local_limits)
    yield from limit.findings
    if metal == "not_known":
        yield Finding(
            "metals.not_known",
            Severity.ASK,
            f"Which metals of {name} touch the drink is not on record. Look, and record it.",
            limit.citation,
            limit.verified,
        )
    elif metal in COPPER_ALLOYS and (measured_ph is None or measured_ph < limit.value):
        found = "not measured" if measured_ph is None else f"{measured_ph}"
        yield Finding(
            "metals.copper",
            Severity.STOP,
            f"{metal.capitalize()} of {name} touches the drink, whose pH is {found}. Copper and "
            f"its alloys may not touch a drink below pH {limit.value.normalize():f}.",
            limit.citation,
            limit.verified,
        )


def _stop(rule: str, statement: str) -> Finding:
    return Finding(rule, Severity.STOP, statement, "Record of the equipment", "record")


def _warn(rule: str, statement: str) -> Finding:
    return Finding(rule, Severity.WARN, statement, "Record of the equipment", "record")


def _practice(rule: str, statement: str) -> Finding:
    return Finding(rule, Severity.WARN, statement, "common practice, no source", "common practice")


def _litres(ml: Decimal) -> str:
    return f"{(ml / 1000).quantize(Decimal('0.01')).normalize():f} L"


def _bar(pa: Decimal, rounding: str) -> str:
    return f"{(pa / 100_000).quantize(Decimal('0.01'), rounding):f} bar gauge"
