"""Deciding about time that nobody read."""

from datetime import datetime
from decimal import ROUND_CEILING, Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.cold_chain.models import GapDecision, Thermometer
from kegsafe.cold_chain.queries.standing import standards, thermometer_standing
from kegsafe.equipment.models import Place
from kegsafe.ledger.services import Recorder, create
from kegsafe.rules.cold.gap_decision import refusals
from kegsafe.rules.cold.history import Counts
from kegsafe.stock.facts import house


@transaction.atomic
def decide_gap(
    *,
    place: Place,
    from_s: int,
    until_s: int,
    counts: str,
    found: str,
    decided_at: datetime,
    by: Recorder,
    measured_degc: Decimal | None = None,
    thermometer: Thermometer | None = None,
) -> GapDecision:
    """Store what a manager decided of a stretch of a place that nobody read.

    from_s, until_s : seconds of the epoch; the stretch must be over
    counts : 'cold', 'warm' or 'hold'
    found : what was found, in words

    Raises ValidationError for a stretch that is not over, for no words, and for 'cold' without a
    drink measured cold by a thermometer of the venue. Later decisions on the same stretch hold.
    """
    if until_s > int(decided_at.timestamp()):
        raise ValidationError("This time is not over. Read the place first: that ends it.")
    if not found.strip():
        raise ValidationError({"found": "Say what was found: a few words are enough."})
    if thermometer is not None and thermometer.venue_id != place.venue_id:
        raise ValidationError({"thermometer": "This thermometer belongs to another venue."})
    if measured_degc is not None:
        # To the warmer hundredth, so that nothing above a limit is stored as the limit.
        measured_degc = measured_degc.quantize(Decimal("0.01"), ROUND_CEILING)
    _refuse(place, Counts(counts), measured_degc, thermometer, decided_at)
    decision = GapDecision(
        place=place,
        from_s=from_s,
        until_s=until_s,
        counts=counts,
        found=found.strip(),
        measured_degc=measured_degc,
        thermometer=thermometer,
        decided_at=decided_at,
        decided_by=by.person,
    )
    create(decision, by=by, action="decided about unread time")
    return decision


def _refuse(
    place: Place,
    counts: Counts,
    measured_degc: Decimal | None,
    thermometer: Thermometer | None,
    now: datetime,
) -> None:
    at_venue = house(place.venue)
    limit = standards([place], at_venue, now)[place.pk].limit
    stands, allowed = (
        thermometer_standing(thermometer, at_venue, now) if thermometer else (None, None)
    )
    refused = dict(
        refusals(
            counts,
            measured_degc=measured_degc,
            has_thermometer=thermometer is not None,
            limit_degc=None if limit is None else Decimal(limit) / 100,
            accuracy_degc=stands.accuracy_degc(allowed) if stands and allowed else Decimal(0),
        )
    )
    if refused:
        raise ValidationError(refused)
