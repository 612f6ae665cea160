"""A cycle as people record it through the services: what each step needs, and nothing more."""

import uuid
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.models import ChemicalBatch, CleaningPlan, Cycle
from kegsafe.cleaning.services import Measured
from kegsafe.cleaning.services.line_events import last_sequence
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.readings import Means, Reading
from kegsafe.rules.cleaning.vocabulary import Chemistry, StepKind, Verification
from kegsafe.venues.models import Venue
from tests.builders import a_recorder

TAP_WATER = Reading.point(Decimal("7.4"))


def a_plan(venue: Venue, key: str = "line.sweet") -> CleaningPlan:
    """Return a starter plan as the venue's own."""
    return services.copy_plan(venue=venue, starter_key=key, by=a_recorder(venue))


def a_cleaner(venue: Venue, chemistry: str = Chemistry.ALKALINE.value, **label) -> ChemicalBatch:
    """Return a batch of a line cleaner, its label read, in date."""
    read = {
        "stock_mg_per_l": Decimal(250_000),
        "label_at_least_mg_per_l": Decimal(10_000),
        "label_at_most_mg_per_l": Decimal(40_000),
        "label_contact_s": 600,
        "label_at_least_degc": Decimal(15),
        "label_at_most_degc": Decimal(60),
        "needs_rinse": True,
        "name": f"Line cleaner, {chemistry}",
        **label,
    }
    return _batch(venue, chemistry=chemistry, **read)


def a_sanitiser(venue: Venue, **label) -> ChemicalBatch:
    """Return a batch of a peroxyacetic sanitiser: no row of the model code, so its label rules."""
    read = {
        "name": "Rinse-free sanitiser",
        "active": "peroxyacetic_acid",
        "stock_mg_per_l": Decimal(50_000),
        "label_at_least_mg_per_l": Decimal(80),
        "label_at_most_mg_per_l": Decimal(200),
        "label_contact_s": 60,
        "needs_rinse": False,
        **label,
    }
    return _batch(venue, chemistry=Chemistry.SANITISER.value, **read)


def _batch(venue: Venue, **facts) -> ChemicalBatch:
    by = a_recorder(venue)
    expires_on = facts.pop("expires_on", timezone.localdate() + timedelta(days=200))
    chemical = services.add_chemical(venue=venue, by=by, **facts)
    return services.add_batch(chemical=chemical, batch="B1", expires_on=expires_on, by=by)


class Cleaner:
    """Somebody who cleans at a venue, with what is in the cupboard."""

    def __init__(self, venue: Venue, person: str = "jonas") -> None:
        self.venue, self.by = venue, a_recorder(venue, person)
        self.detergent, self.acid = a_cleaner(venue), a_cleaner(venue, Chemistry.ACID.value)
        self.by_hand = a_cleaner(venue, Chemistry.DETERGENT.value)
        self.sanitiser = a_sanitiser(venue)

    def starts(self, plan: CleaningPlan, *pieces, at: datetime | None = None) -> list[Cycle]:
        """Begin a circuit."""
        return services.start_circuit(
            venue=self.venue,
            plan=plan,
            pieces=pieces,
            circuit=uuid.uuid4(),
            started_at=at or timezone.now() - timedelta(hours=6),
            by=self.by,
        )

    def does(self, cycle: Cycle, *positions: int, **changes: object) -> None:
        """Record steps one after the other, twenty-five minutes each, as the plan wants them."""
        for position in positions:
            step = cycle.plan.as_rules().step(position)
            began = cycle.started_at + timedelta(minutes=25 * position)
            services.record_step(
                cycle=cycle,
                position=position,
                client_id=uuid.uuid4(),
                measured=self.measured(step, **changes),
                started_at=began,
                ended_at=began + timedelta(minutes=25),
                seen=last_sequence(cycle.line_id) if cycle.line_id else None,
                by=self.by,
            )

    def does_all(self, cycle: Cycle, **changes: object) -> Cycle:
        """Record every step of the plan and close the cycle."""
        self.does(cycle, *(step.position for step in cycle.plan.as_rules().steps), **changes)
        return services.close_cycle(cycle=cycle, by=self.by)

    def measured(self, step: PlanStep, **changes: object) -> Measured:
        """Return what a step in the middle of its limits would be recorded with."""
        read: dict[str, object] = {}
        if step.contacts:
            read["application"] = step.contacts[0].application.value
        if step.kind is StepKind.DETERGENT:
            chemical = {Chemistry.ACID: self.acid, Chemistry.DETERGENT: self.by_hand}
            read["chemical"] = chemical.get(step.chemistry, self.detergent)
            read["strength"] = Reading.point(Decimal(25_000), Means.DOSED)
            read["temperature_degc"] = Decimal(35)
        if step.kind is StepKind.SANITISE:
            read["chemical"] = self.sanitiser
            read["strength"] = Reading(Decimal(100), Decimal(150), Means.STRIP)
        if step.verification is Verification.TAP_WATER_PH:
            read |= {"tap_water_ph": TAP_WATER, "outlet_ph": (TAP_WATER,)}
        if step.verification in (Verification.LOOKED_AT, Verification.ALLERGEN_TEST):
            read["passed"] = True
        return Measured(**{**read, **{k: v for k, v in changes.items() if k in read}})
