"""How cold something came in at the door: facts gathered, the rules decide."""

from datetime import datetime
from decimal import Decimal

from kegsafe.rules.cold.receiving import arrival_findings
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding
from kegsafe.rules.tcs import TcsFacts, tcs_status
from kegsafe.stock.models import Ingredient, Lot


def at_the_door(
    ingredient: Ingredient, arrived_degc: Decimal | None, house: House, received_at: datetime
) -> tuple[Finding, ...]:
    """Return what the temperature of an ingredient means as it comes in, unopened.

    Nothing for what needs no cold. Reads the ingredient's assessment where there is one.

    arrived_degc : None when it was not taken
    received_at : aware; the limits of that day judge
    """
    on = received_at.astimezone(house.zone).date()
    assessment = ingredient.assessment if ingredient.assessment_id else None
    tcs = tcs_status(
        TcsFacts(
            category=ingredient.category,
            ph=ingredient.measured_ph,
            water_activity=ingredient.measured_water_activity,
            heat_treated_and_packaged=ingredient.heat_treated_and_packaged,
            shelf_stable_unopened=ingredient.shelf_stable_unopened,
            assessment=assessment.as_fact() if assessment else None,
        ),
        on,
    )
    return arrival_findings(arrived_degc, house, on, needs_chill=tcs.treated_as_tcs)


def arrival_of(lot: Lot, house: House) -> tuple[Finding, ...]:
    """Return what the temperature on record of a delivered lot means; nothing for one made here."""
    if lot.delivery_id is None:
        return ()
    return at_the_door(lot.ingredient, lot.arrival_temperature_degc, house, lot.came_into_being_at)
