"""Holding by the clock: begun by a written procedure, read, and ended one way."""

from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.cold_chain.models import TimeHold, TimeHoldReading
from kegsafe.cold_chain.queries.time_holds import verdict_of
from kegsafe.cold_chain.services.cooling import refuse_degrees, refuse_future
from kegsafe.ledger.services import Recorder, create, record, take_turn
from kegsafe.rules.cold.temperature_log import to_warmer_hundredth
from kegsafe.stock.facts import house
from kegsafe.venues.models import Venue


@transaction.atomic
def begin_time_hold(
    *,
    venue: Venue,
    what: str,
    way: str,
    removed_at: datetime,
    start_degc: Decimal,
    procedure: str,
    by: Recorder,
) -> TimeHold:
    """Begin to hold something by the clock; its mark is computed, never typed.

    Raises ValidationError, with the clause, where the code of the venue does not let it begin:
    no such way, too warm at the start, no written procedure.
    """
    take_turn(by)
    refuse_future("removed_at", removed_at)
    refuse_degrees("start_degc", start_degc)
    hold = TimeHold(
        venue=venue,
        what=what.strip(),
        way=way,
        removed_at=removed_at,
        start_degc=to_warmer_hundredth(start_degc),
        procedure=procedure.strip(),
        begun_by=by.person,
    )
    hold.full_clean()
    verdict = verdict_of(hold, (), house(venue), removed_at)
    if verdict.discard_at is None:
        refused = verdict.findings[0]
        raise ValidationError(f"{refused.statement} It may not be held by time. ({refused.source})")
    create(hold, by=by, action="held by time", marked=verdict.discard_at)
    return hold


@transaction.atomic
def read_time_hold(
    *, hold: TimeHold, read_at: datetime, degc: Decimal, by: Recorder
) -> TimeHoldReading:
    """Store a temperature of something held by time."""
    refuse_future("read_at", read_at)
    refuse_degrees("degc", degc)
    if read_at < hold.removed_at:
        raise ValidationError({"read_at": "This is before it left the cold."})
    reading = TimeHoldReading(
        hold=hold,
        read_at=read_at,
        temperature_degc=to_warmer_hundredth(degc),
        recorded_by=by.person,
    )
    create(reading, by=by, action="read")
    return reading


@transaction.atomic
def end_time_hold(*, hold: TimeHold, ended_at: datetime, ended_as: str, by: Recorder) -> TimeHold:
    """Say that something held by time was served or discarded.

    Raises ValidationError for what ended already, and for serving after its time or after it
    grew too warm: that is discarded.
    """
    take_turn(by)
    refuse_future("ended_at", ended_at)
    held = TimeHold.objects.select_for_update(of=("self",)).select_related("venue").get(pk=hold.pk)
    if held.ended_at is not None:
        raise ValidationError(f"{held} was {held.get_ended_as_display().lower()} already.")
    if ended_at < held.removed_at:
        raise ValidationError({"ended_at": "This is before it left the cold."})
    verdict = verdict_of(held, held.readings.all(), house(held.venue), ended_at)
    if ended_as == TimeHold.End.SERVED and verdict.must_go:
        raise ValidationError({"ended_as": f"{verdict.findings[0].statement} It is not served."})
    held.ended_at, held.ended_as, held.ended_by = ended_at, ended_as, by.person
    held.full_clean()
    held.save()
    record(held, by=by, action=ended_as)
    return held
