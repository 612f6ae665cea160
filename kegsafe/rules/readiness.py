"""What would an inspector find? The gaps in a venue's records, each with clause and weight.

A self-check: it looks at the records, not at the bar, and defers to the authority. What it
does not name is not shown to be in order. `now` is an argument; nothing here reads a clock.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from kegsafe.rules.codes import regimes
from kegsafe.rules.facts import House
from kegsafe.rules.moments import at_moment, on_day
from kegsafe.rules.practice import practice
from kegsafe.rules.readiness_clauses import Clause, Weight, clause_of

_ORDER = {weight: place for place, weight in enumerate(Weight)}


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that a gap is about, or so many of one kind.

    `since` is aware, None where nobody knows. `address` leads to the form that settles it;
    `source` and `verified` are set where the thing has a rule of its own.
    """

    name: str
    why: str
    since: datetime | None = None
    address: str = ""
    source: str = ""
    verified: str = ""
    number: int = 1


@dataclass(frozen=True, slots=True)
class Gap:
    """Something an inspector would find in the records.

    `rule` is the id of a rule of this module, `what` a sentence, `page` the name of the
    address that settles it; `since` is the earliest moment known, None where none is.
    """

    rule: str
    what: str
    clause: Clause
    count: int
    since: datetime | None
    page: str
    items: tuple[Item, ...]

    @property
    def weight(self) -> Weight:
        return self.clause.weight

    def as_json(self) -> dict[str, object]:
        """Return the gap as command, pack and stored self-check print it."""
        return {
            "rule": self.rule,
            "what": self.what,
            "weight": self.weight.value,
            "weight_in_words": self.weight.in_words,
            "weight_source": self.clause.weight_source,
            "clause": self.clause.citation,
            "verified": self.clause.verified,
            "count": self.count,
            "since": self.since.isoformat() if self.since else None,
            "items": [{"name": item.name, "why": item.why} for item in self.items],
        }


@dataclass(frozen=True, slots=True)
class PlaceRead:
    """A cold place and the whole days of the stretch looked at on which nobody read it.

    `last_read_at` None: never read. `days_looked_at` counts from its first reading on.
    """

    name: str
    last_read_at: datetime | None
    days_missed: tuple[date, ...]
    days_looked_at: int
    address: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """A keg or a lot on hold; `since` None where the record does not say."""

    name: str
    reason: str
    since: datetime | None
    address: str = ""


@dataclass(frozen=True, slots=True)
class ChainWalk:
    """When the venue's chain was last walked, what that found, and what was added since."""

    verified_at: datetime | None
    broken: str = ""
    entries_since: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordFacts:
    """What the records of a venue say at a moment; what the rooms' own rules found is in items."""

    house: House
    places: Sequence[PlaceRead] = ()
    warm_places: Sequence[Item] = ()
    late_thermometers: Sequence[Item] = ()
    has_cleaning_plan: bool = True
    overdue_cleans: Sequence[Item] = ()
    cycles_unanswered: Sequence[Item] = ()
    actions_unverified: Sequence[Item] = ()
    chemicals_out_of_date: Sequence[Item] = ()
    chemicals_without_sheet: Sequence[Item] = ()
    lots_without_source: Sequence[Item] = ()
    lots_without_paper: Sequence[Item] = ()
    allergens_not_known: Sequence[Item] = ()
    drinks_past_date: Sequence[Item] = ()
    drinks_without_date: Sequence[Item] = ()
    held: Sequence[Held] = ()
    rules_without_approval: Sequence[Item] = ()
    pressure_due: Sequence[Item] = ()
    chain: ChainWalk = ChainWalk(None)


def gaps_in(facts: RecordFacts, now: datetime) -> tuple[Gap, ...]:
    """Return every gap in the records, the gravest first. `now` must be aware."""
    found = [gap for rule in RULES for gap in rule(facts, now)]
    return tuple(sorted(found, key=lambda gap: _ORDER[gap.weight]))


# Drinks


def drinks_are_in_date(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "drinks.past_date",
        facts.drinks_past_date,
        ("keg still holds a drink past its date.", "kegs still hold drinks past their dates."),
        page="pour-search",
    )


def drinks_have_a_date(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "drinks.without_date",
        facts.drinks_without_date,
        (
            "keg holds a drink that needs a date and has none.",
            "kegs hold drinks that need a date and have none.",
        ),
        page="pour-search",
    )


def holds_are_decided(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    """A hold may stand for a while; one whose beginning nobody knows has stood too long."""
    longest = timedelta(hours=float(practice("readiness.hold_decided_within").value))
    waiting = [
        Item(held.name, held.reason, held.since, held.address)
        for held in facts.held
        if held.since is None or now - held.since > longest
    ]
    yield from _gap(
        facts,
        "drinks.hold_undecided",
        waiting,
        ("hold waits for a decision.", "holds wait for a decision."),
        page="pour-search",
    )


def shelf_lives_are_signed(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "drinks.rule_without_approval",
        facts.rules_without_approval,
        (
            "house rule on how long something keeps is signed by nobody.",
            "house rules on how long something keeps are signed by nobody.",
        ),
        page="recipes",
    )


# What comes in


def lots_have_a_source(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "stock.lot_without_source",
        facts.lots_without_source,
        ("lot in stock names no supplier.", "lots in stock name no supplier."),
        page="lots",
    )


def lots_have_a_paper(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "stock.lot_without_paper",
        facts.lots_without_paper,
        (
            "lot in stock came without the number of a delivery note.",
            "lots in stock came without the number of a delivery note.",
        ),
        page="deliveries",
    )


def allergens_are_known(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    """The duty is that of the allergen list the code uses; only its weight is the code's."""
    duty = regimes()[facts.house.code.allergen_regime]
    cited = replace(
        clause_of("stock.allergens_not_known", facts.house.code.key),
        source=duty.source,
        section=duty.section,
        verified=duty.verified,
        note=duty.poured_drink_duty,
    )
    yield from _gap(
        facts,
        "stock.allergens_not_known",
        facts.allergens_not_known,
        (
            "ingredient whose allergens are not known.",
            "ingredients whose allergens are not known.",
        ),
        page="ingredients",
        clause=cited,
    )


# Cold


def places_are_read_daily(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    unread = [place for place in facts.places if place.last_read_at is None or place.days_missed]
    if not unread:
        return
    days = sum(len(place.days_missed) for place in unread)
    never = sum(1 for place in unread if place.last_read_at is None)
    said = []
    if days:
        said.append(f"{_counted(days, 'day', 'days')} without a temperature reading")
    if never:
        said.append(f"{_counted(never, 'place', 'places')} never read")
    items = [_unread(place) for place in unread]
    yield Gap(
        "cold.days_without_reading",
        f"{' and '.join(said)}.",
        clause_of("cold.days_without_reading", facts.house.code.key),
        days + never,
        _earliest(items),
        "cold-round",
        tuple(items),
    )


def _unread(place: PlaceRead) -> Item:
    if place.last_read_at is None:
        return Item(place.name, "No temperature is on record.", None, place.address)
    missed = place.days_missed
    why = (
        f"Not read on {_counted(len(missed), 'day', 'days')} of {place.days_looked_at}, "
        f"last on {on_day(missed[-1])}."
    )
    return Item(place.name, why, place.last_read_at, place.address)


def excursions_are_answered(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "cold.excursion_open",
        facts.warm_places,
        (
            "place is above its limit, or was and nobody said what was done.",
            "places are above their limits, or were and nobody said what was done.",
        ),
        page="cold-round",
    )


def thermometers_are_checked(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "cold.thermometer_late",
        facts.late_thermometers,
        (
            "thermometer cannot be believed: its check is late, failed or missing.",
            "thermometers cannot be believed: their checks are late, failed or missing.",
        ),
        page="thermometers",
    )


# Cleaning


def equipment_has_a_plan(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    """Without a plan nothing is ever due: that is a gap, not good order."""
    if not facts.has_cleaning_plan:
        yield Gap(
            "cleaning.no_plan",
            "No cleaning plan is in force for any piece of equipment.",
            clause_of("cleaning.no_plan", facts.house.code.key),
            1,
            None,
            "cleaning-plans",
            (),
        )


def cleans_are_in_time(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "cleaning.overdue",
        facts.overdue_cleans,
        ("clean is overdue.", "cleans are overdue."),
        page="cleaning",
    )


def failed_cleans_are_answered(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "cleaning.corrective_open",
        facts.cycles_unanswered,
        (
            "clean failed or was not finished, and no corrective action is on record.",
            "cleans failed or were not finished, and no corrective action is on record.",
        ),
        page="cycles",
    )


def corrective_actions_are_verified(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "cleaning.corrective_unverified",
        facts.actions_unverified,
        (
            "corrective action was checked by no second person.",
            "corrective actions were checked by no second person.",
        ),
        page="cycles",
    )


def chemicals_are_in_date(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "cleaning.chemical_out_of_date",
        facts.chemicals_out_of_date,
        (
            "cleaning chemical is past its date, or has none on record.",
            "cleaning chemicals are past their dates, or have none on record.",
        ),
        page="chemicals",
    )


def chemicals_have_a_sheet(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    yield from _gap(
        facts,
        "cleaning.chemical_without_sheet",
        facts.chemicals_without_sheet,
        (
            "cleaning chemical has no safety data sheet on file.",
            "cleaning chemicals have no safety data sheet on file.",
        ),
        page="chemicals",
    )


# Pressure gear and the records themselves


def pressure_gear_is_checked(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    """Each check has a rule of its own; the gap cites that of the most urgent."""
    clause = clause_of("pressure.due", facts.house.code.key)
    ruled = next((item for item in facts.pressure_due if item.source), None)
    if ruled is not None:
        clause = replace(clause, source=ruled.source, section="", verified=ruled.verified)
    yield from _gap(
        facts,
        "pressure.due",
        facts.pressure_due,
        (
            "check of pressure equipment is due, or not known and so treated as due.",
            "checks of pressure equipment are due, or not known and so treated as due.",
        ),
        page="pressure",
        clause=clause,
    )


def chain_is_verified(facts: RecordFacts, now: datetime) -> Iterator[Gap]:
    walk = facts.chain
    days = int(practice("readiness.chain_verified_within").value)
    if walk.broken:
        what = "A fault was found when the ledger was last verified."
        yield _of_the_ledger(facts, "ledger.broken", what, walk.broken)
    elif walk.verified_at is None:
        what = "The ledger was never verified."
        yield _of_the_ledger(facts, "ledger.not_verified", what, "No verification is on record.")
    elif now - walk.verified_at > timedelta(days=days):
        last = at_moment(walk.verified_at, facts.house.zone)
        why = f"Last verified {last}; {_counted(walk.entries_since, 'entry', 'entries')} since."
        what = f"The ledger was not verified in the last {days} days."
        yield _of_the_ledger(facts, "ledger.not_verified", what, why)


def _of_the_ledger(facts: RecordFacts, rule: str, what: str, why: str) -> Gap:
    since = facts.chain.verified_at
    clause = clause_of(rule, facts.house.code.key)
    return Gap(rule, what, clause, 1, since, "readiness", (Item("Ledger", why, since),))


# The rules, in the order an inspector walks: the drink, the goods, the cold, the clean, the gear.
RULES: tuple[Callable[[RecordFacts, datetime], Iterator[Gap]], ...] = (
    drinks_are_in_date,
    drinks_have_a_date,
    holds_are_decided,
    shelf_lives_are_signed,
    lots_have_a_source,
    lots_have_a_paper,
    allergens_are_known,
    places_are_read_daily,
    excursions_are_answered,
    thermometers_are_checked,
    equipment_has_a_plan,
    cleans_are_in_time,
    failed_cleans_are_answered,
    corrective_actions_are_verified,
    chemicals_are_in_date,
    chemicals_have_a_sheet,
    pressure_gear_is_checked,
    chain_is_verified,
)


def _gap(
    facts: RecordFacts,
    rule: str,
    items: Sequence[Item],
    one_many: tuple[str, str],
    *,
    page: str,
    clause: Clause | None = None,
) -> Iterator[Gap]:
    if items:
        count = sum(item.number for item in items)
        yield Gap(
            rule=rule,
            what=_counted(count, *one_many),
            clause=clause or clause_of(rule, facts.house.code.key),
            count=count,
            since=_earliest(items),
            page=page,
            items=tuple(items),
        )


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _earliest(items: Iterable[Item]) -> datetime | None:
    return min((item.since for item in items if item.since is not None), default=None)
