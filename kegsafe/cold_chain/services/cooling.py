"""What cools, what was done about warmth, which thermometers there are, how cold places are."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cold_chain.models import (
    CoolingReading,
    CoolingRecord,
    CorrectiveAction,
    PlaceCooling,
    Thermometer,
    ThermometerCheck,
)
from kegsafe.equipment.models import Place
from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.venues.models import Venue

_COLDEST_DEGC, _WARMEST_DEGC = Decimal(-60), Decimal(130)
_HUNDREDTH = Decimal("0.01")


@transaction.atomic
def set_cooling(
    *, place: Place, values: Mapping[str, Any], by: Recorder, reason: str = ""
) -> PlaceCooling:
    """Say how cold a place is meant to be; a change keeps what was said before.

    values : by field of PlaceCooling. Raises ValidationError for a thermometer of another venue.
    """
    thermometer = values.get("thermometer")
    if thermometer is not None and thermometer.venue_id != place.venue_id:
        raise ValidationError({"thermometer": "This thermometer belongs to another venue."})
    known = PlaceCooling.objects.filter(place=place).first()
    if known is None:
        known = PlaceCooling(place=place, **values)
        create(known, by=by, action="cooling set")
    else:
        columns = {
            ("thermometer_id" if name == "thermometer" else name): (
                value.pk if isinstance(value, Thermometer) else value
            )
            for name, value in values.items()
        }
        amend(known, columns, by=by, reason=reason)
    return known


@transaction.atomic
def add_thermometer(*, venue: Venue, name: str, is_air: bool, by: Recorder) -> Thermometer:
    """Put a thermometer on the list."""
    thermometer = Thermometer(venue=venue, name=name.strip(), is_air=is_air)
    create(thermometer, by=by, action="added")
    return thermometer


@transaction.atomic
def record_check(
    *,
    thermometer: Thermometer,
    checked_at: datetime,
    method: str,
    read_degc: Decimal,
    by: Recorder,
    altitude_m: Decimal | None = None,
    air_pa: Decimal | None = None,
) -> ThermometerCheck:
    """Store a check in ice or boiling water. It is never amended: check again instead."""
    refuse_future("checked_at", checked_at)
    refuse_degrees("read_degc", read_degc)
    check = ThermometerCheck(
        thermometer=thermometer,
        checked_at=checked_at,
        method=method,
        read_degc=read_degc.quantize(_HUNDREDTH),
        altitude_m=None if altitude_m is None else altitude_m.quantize(Decimal("0.1")),
        air_pa=None if air_pa is None else air_pa.quantize(Decimal("0.1")),
        checked_by=by.person,
    )
    create(check, by=by, action="checked")
    return check


@transaction.atomic
def record_action(
    *, place: Place, excursion_from_s: int, what: str, by: Recorder, taken_at: datetime
) -> CorrectiveAction:
    """Store what was done about an excursion."""
    refuse_future("taken_at", taken_at)
    action = CorrectiveAction(
        place=place,
        excursion_from_s=excursion_from_s,
        taken_at=taken_at,
        what=what.strip(),
        taken_by=by.person,
    )
    create(action, by=by, action="acted")
    return action


@transaction.atomic
def begin_cooling(
    *, venue: Venue, what: str, procedure: str, began_at: datetime, degc: Decimal, by: Recorder
) -> CoolingRecord:
    """Begin the record of something that cools, with its first temperature."""
    refuse_future("began_at", began_at)
    cooling = CoolingRecord(
        venue=venue,
        what=what.strip(),
        procedure=procedure,
        began_at=began_at,
        begun_by=by.person,
    )
    create(cooling, by=by, action="began to cool")
    read_cooling(cooling=cooling, read_at=began_at, degc=degc, by=by)
    return cooling


@transaction.atomic
def read_cooling(
    *, cooling: CoolingRecord, read_at: datetime, degc: Decimal, by: Recorder
) -> CoolingReading:
    """Store a temperature of something that cools."""
    refuse_future("read_at", read_at)
    refuse_degrees("degc", degc)
    if read_at < cooling.began_at:
        raise ValidationError({"read_at": "This is before the cooling began."})
    reading = CoolingReading(
        cooling=cooling,
        read_at=read_at,
        temperature_degc=degc.quantize(_HUNDREDTH),
        recorded_by=by.person,
    )
    create(reading, by=by, action="read")
    return reading


def refuse_future(name: str, moment: datetime) -> None:
    """Raise ValidationError at a field for a time still to come."""
    if moment > timezone.now():
        raise ValidationError({name: "This time is still to come. Record what was done."})


def refuse_degrees(name: str, degc: Decimal) -> None:
    """Raise ValidationError at a field for a temperature no bar has."""
    if not _COLDEST_DEGC <= degc <= _WARMEST_DEGC:
        raise ValidationError(
            {name: f"{degc.normalize():f} °C is no temperature of a bar. Look at the unit."}
        )
