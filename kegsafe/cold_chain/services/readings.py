"""Recording temperatures read by hand, and amending one that was misread."""

from collections.abc import Mapping
from datetime import datetime
from decimal import ROUND_CEILING, Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cold_chain.models import LoggedReading, Reading
from kegsafe.cold_chain.services.log_store import (
    Put,
    count_hours,
    put_readings,
    take_place,
    write_hours,
)
from kegsafe.equipment.models import Place
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create, take_turn
from kegsafe.rules.cold.temperature_log import reading_centi_degc
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
    _log(place, [reading])
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
    take_turn(by)
    stood_at_s = _second(reading.read_at)
    entry = amend(reading, rounded, by=by, reason=reason, seen_sequence=seen_sequence)
    if entry is not None:
        _log_amended(reading, stood_at_s)
    return entry


def _log_amended(reading: Reading, stood_at_s: int) -> None:
    """Take what it said first out of the log, leave what others read by hand in that second."""
    place = reading.place
    LoggedReading.objects.filter(
        place=place, at_s=stood_at_s, source=LoggedReading.Source.HAND
    ).delete()
    stood_at = datetime.fromtimestamp(stood_at_s, tz=reading.read_at.tzinfo)
    others = [
        each
        for each in Reading.objects.filter(place=place, read_at__gte=stood_at).order_by("read_at")[
            :100
        ]
        if _second(each.read_at) == stood_at_s
    ]
    count_hours(place.pk, stood_at_s // 3600, stood_at_s // 3600)
    _log(place, [*others, reading])


def _log(place: Place, readings: list[Reading]) -> None:
    put = Put()
    take_place(place)
    for each in readings:
        centi = reading_centi_degc(each.temperature_degc)
        put_readings(place.pk, {_second(each.read_at): centi}, LoggedReading.Source.HAND.value, put)
    write_hours(place.pk, put)


def _second(moment: datetime) -> int:
    return int(moment.timestamp())


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
