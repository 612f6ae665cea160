"""What is held by the clock, with what the code says to it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from kegsafe.cold_chain.models import TimeHold, TimeHoldReading
from kegsafe.rules.cold.time_control import Option, TimeControlVerdict, time_control_verdict
from kegsafe.rules.facts import House
from kegsafe.venues.models import Venue

_SHOWN = 50


@dataclass(frozen=True, slots=True)
class JudgedHold:
    """Something held by time, and how it stands; judged at its end where it ended."""

    hold: TimeHold
    verdict: TimeControlVerdict

    @property
    def is_open(self) -> bool:
        """Say whether it is still out."""
        return self.hold.ended_at is None


def time_holds(venue: Venue, house: House, now: datetime) -> list[JudgedHold]:
    """Return what is held by time, what is still out first, newest first: two queries."""
    found: QuerySet[TimeHold] = TimeHold.objects.filter(venue=venue).prefetch_related("readings")
    judged = [judged_hold(hold, house, now) for hold in found[:_SHOWN]]
    return sorted(judged, key=lambda each: not each.is_open)


def judged_hold(hold: TimeHold, house: House, now: datetime) -> JudgedHold:
    """Return how one stands; its readings should have been fetched with it."""
    return JudgedHold(hold, verdict_of(hold, hold.readings.all(), house, hold.ended_at or now))


def verdict_of(
    hold: TimeHold, readings: Iterable[TimeHoldReading], house: House, at: datetime
) -> TimeControlVerdict:
    """Return what the code said of a hold at a moment, by the rules of the day it began."""
    removed_at = hold.removed_at.astimezone(house.zone)
    return time_control_verdict(
        option=Option(hold.way),
        removed_at=removed_at,
        start_degc=hold.start_degc,
        read_since_degc=[each.temperature_degc for each in readings if each.read_at <= at],
        has_written_procedure=bool(hold.procedure),
        house=house,
        on=removed_at.date(),
        now=at,
    )
