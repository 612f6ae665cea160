"""What the rules say of a fill somebody wants to make: before it is made, and as it is stored."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from kegsafe.batches.facts import DrinkFacts, drink_facts
from kegsafe.batches.models import Batch, Fill
from kegsafe.cleaning.queries import history_of
from kegsafe.equipment.models import Keg, Service
from kegsafe.pressure.queries import lid_valves, standing_of_kegs
from kegsafe.rules.allergens import (
    AllergenFact,
    Declaration,
    State,
    SulphiteAmount,
    cross_contact,
    declare,
)
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.facts import EquipmentHistory, House, KegFacts
from kegsafe.rules.fill_checks import FillPlan, fill_checks
from kegsafe.rules.findings import Finding, Severity, gravest_first
from kegsafe.rules.use_by import UseByVerdict, use_by
from kegsafe.stock.facts import house, sources_present


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedFill:
    """A fill as it is typed. Volume in ml, pressure gauge in Pa.

    `accept_cross_contact` is a person's word that what the last drink left is
    declared as 'may contain'.
    """

    batch: Batch
    keg: Keg
    filled_at: datetime
    volume_ml: Decimal
    set_gauge_pa: Decimal
    rest_hours: int
    accept_cross_contact: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FillVerdict:
    """Everything the rules say of a fill, and what is stored with it."""

    checks: tuple[Finding, ...]
    dated: UseByVerdict
    declaration: Declaration
    ready_from: datetime
    sources: tuple[str, ...]
    carried_over: tuple[str, ...]
    left_by_last_drink: tuple[str, ...]

    @property
    def stops(self) -> tuple[str, ...]:
        """Return why the keg may not be filled; nothing when it may."""
        return tuple(each.statement for each in self.checks if each.severity is Severity.STOP)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return every reason, gravest first: the checks, the dates, the declaration."""
        earliest = self.dated.earliest
        dates = [each.as_finding(binds=each is earliest) for each in self.dated.candidates]
        return gravest_first(
            [*self.checks, *self.dated.findings, *dates, *self.declaration.findings]
        )


def judge_fill(wanted: WantedFill, now: datetime) -> FillVerdict:
    """Return what the rules say of a fill, in 15 queries whatever stands behind the batch.

    Two fewer where nothing at the venue is on gas.
    """
    batch, at_house = wanted.batch, house(wanted.batch.venue)
    facts = drink_facts(batch, filled_at=wanted.filled_at, at_house=at_house)
    history = history_of(keg=wanted.keg, before=wanted.filled_at)
    contained = frozenset(each.source for each in facts.in_keg if each.state is State.CONTAINS)
    left = cross_contact(history.residue, contained)
    plan = FillPlan(
        keg=_keg_facts(wanted.keg),
        capacity_ml=wanted.keg.capacity_ml,
        is_empty=not wanted.keg.uses.filter(ended_at=None).exists(),
        history=history,
        drink=facts.drink,
        volume_ml=wanted.volume_ml,
        set_gauge_pa=wanted.set_gauge_pa,
        drink_sources=contained,
        accepted_sources=left if wanted.accept_cross_contact else frozenset(),
        gear_findings=standing_of_kegs([wanted.keg.pk])[wanted.keg.pk],
    )
    return FillVerdict(
        checks=(*fill_checks(plan, at_house, now), *_allergens_not_known(facts)),
        dated=use_by(facts.drink, at_house),
        declaration=_declaration(batch, facts, left, history, at_house),
        ready_from=wanted.filled_at + timedelta(hours=wanted.rest_hours),
        sources=tuple(sources_present(facts.in_keg)),
        carried_over=tuple(sorted(history.residue)),
        left_by_last_drink=tuple(sorted(left)),
    )


def findings_as_filled(fill: Fill) -> list[Finding]:
    """Return what the rules said when the keg was filled, as it was stored then."""
    return [
        Finding(
            rule=stored["rule"],
            severity=Severity(stored["severity"]),
            statement=stored["statement"],
            source=stored["source"],
            verified=stored["verified"],
            evidence=tuple(stored["evidence"].items()),
        )
        for stored in fill.findings
    ]


def _keg_facts(keg: Keg) -> KegFacts:
    return KegFacts(
        name=str(keg),
        in_use=keg.service == Service.IN_USE,
        service_reason=keg.service_reason,
        rated_gauge_pa=keg.rated_gauge_pa,
        metal=keg.metal,
        lid_valves=lid_valves(keg),
    )


def _declaration(
    batch: Batch,
    facts: DrinkFacts,
    left: frozenset[str],
    history: EquipmentHistory,
    at_house: House,
) -> Declaration:
    carried = [
        AllergenFact(source, State.MAY_CONTAIN, None, f"last drink in {history.name}")
        for source in sorted(left)
    ]
    return declare(
        (*facts.as_served, *carried),
        at_house.code.allergen_regime,
        SulphiteAmount(batch.total_so2_mg_per_l),
        day_one(batch.made_at, at_house.zone, batch.business_date),
    )


def _allergens_not_known(facts: DrinkFacts) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            "allergens.not_known",
            Severity.ASK,
            f"The allergens of {name} are not known. Read the label or ask the supplier; until "
            "then tell the guest that they are not known.",
            "Record of this venue",
            "record",
        )
        for name in facts.not_known
    )
