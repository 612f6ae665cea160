"""Recording temperatures read by hand, and amending one that was misread."""

from collections.abc import Mapping
from datetime import datetime
from decimal import ROUND_CEILING, Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cold_chain.models import Reading
from kegsafe.equipment.models import Place
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.venues.models import Venue

HUNDREDTH = Decimal("0.01")
COLDEST_DEGC, WARMEST_DEGC = Decimal(-60), Decimal(60)


@transaction.atomic
def record_reading(
    *, place: Place, read_at: datetime, temperature_degc: Decimal, by: Recorder, note: str = ""
) -> Reading:
    """Store a temperature read in a place.

    temperature_degc : -60 to 60; rounded up to a hundredth, so that nothing
        above a limit is stored as the limit

    Raises ValidationError for a time in the future and a temperature no bar has.
    """
    _check(place, read_at, temperature_degc)
    reading = Reading(
        place=place,
        read_at=read_at,
        temperature_degc=temperature_degc.quantize(HUNDREDTH, ROUND_CEILING),
        recorded_by=by.person,
        note=note.strip(),
    )
    create(reading, by=by, action="read")
    return reading


@transaction.atomic
def record_round(
    *, venue: Venue, readings: Mapping[Place, Decimal], read_at: datetime, by: Recorder
) -> list[Reading]:
    """Store one reading for each place of a round: all of them or none."""
    if any(place.venue_id != venue.pk for place in readings):
        raise ValueError("a round stays inside one venue")
    return [
        record_reading(place=place, read_at=read_at, temperature_degc=temperature, by=by)
        for place, temperature in readings.items()
    ]


@transaction.atomic
def amend_reading(
    *,
    reading: Reading,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change a reading that was misread or mistyped; what it said first is kept."""
    rounded = dict(changes)
    if "temperature_degc" in rounded:
        rounded["temperature_degc"] = rounded["temperature_degc"].quantize(HUNDREDTH, ROUND_CEILING)
    _check(
        reading.place,
        rounded.get("read_at", reading.read_at),
        rounded.get("temperature_degc", reading.temperature_degc),
    )
    return amend(reading, rounded, by=by, reason=reason, seen_sequence=seen_sequence)


def _check(place: Place, read_at: datetime, temperature_degc: Decimal) -> None:
    if read_at > timezone.now():
        raise ValidationError({"read_at": "This time is still to come. Record what was read."})
    if not COLDEST_DEGC <= temperature_degc <= WARMEST_DEGC:
        raise ValidationError(
            {
                "temperature_degc": f"{temperature_degc.normalize():f} °C is no temperature of "
                f"{place}. Read the thermometer and its unit again: 3.2 °C or 38 °F."
            }
        )
