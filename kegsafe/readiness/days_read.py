"""On which days each cold place was read, and on which nobody read it."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import connection
from django.urls import reverse

from kegsafe.cold_chain.models import LoggedReading
from kegsafe.equipment.models import Place
from kegsafe.rules.practice import practice
from kegsafe.rules.readiness import PlaceRead
from kegsafe.venues.models import Venue

_READINGS = LoggedReading._meta.db_table
_PLACES = Place._meta.db_table


def places_read(venue: Venue, places: Iterable[Place], now: datetime) -> list[PlaceRead]:
    """Return on which whole days of the last weeks each place was not read: two queries.

    A day is one of the venue; today is not over and is left out.
    """
    known = list(places)
    today = venue.local(now).date()
    back = int(practice("readiness.days_read_back").value)
    days = [today - timedelta(days=ago) for ago in range(back, 0, -1)]
    ends = _first_and_last(known)
    missed = _days_missed(known, days, venue.zone)
    return [_place_read(place, ends.get(place.pk), missed[place.pk], days) for place in known]


def _place_read(
    place: Place, ends: tuple[datetime, datetime] | None, missed: list[date], days: list[date]
) -> PlaceRead:
    address = reverse("cold-place", args=[place.pk])
    if ends is None:
        return PlaceRead(place.name, None, (), 0, address)
    first, last = ends
    begun = first.astimezone(place.venue.zone).date()
    counted = tuple(day for day in missed if day >= begun)
    looked_at = sum(1 for day in days if day >= begun)
    return PlaceRead(place.name, last, counted, looked_at, address)


def _first_and_last(places: list[Place]) -> dict[int, tuple[datetime, datetime]]:
    """Return when each place was read first and last: two steps into the index for each."""
    if not places:
        return {}
    given = ", ".join(["%s"] * len(places))
    sql = f"""
        SELECT id, (SELECT MIN(at_s) FROM {_READINGS} WHERE place_id = {_PLACES}.id),
            (SELECT MAX(at_s) FROM {_READINGS} WHERE place_id = {_PLACES}.id)
        FROM {_PLACES} WHERE id IN ({given})
    """  # noqa: S608 - names of our own tables
    with connection.cursor() as cursor:
        cursor.execute(sql, [place.pk for place in places])
        return {
            pk: (datetime.fromtimestamp(first, tz=UTC), datetime.fromtimestamp(last, tz=UTC))
            for pk, first, last in cursor.fetchall()
            if first is not None
        }


def _days_missed(places: list[Place], days: list[date], zone: ZoneInfo) -> dict[int, list[date]]:
    """Return the days without a reading: one step into the index for each place and day."""
    missed: dict[int, list[date]] = defaultdict(list)
    if not places:
        return missed
    given = ", ".join(["%s"] * len(places))
    stretches = ", ".join(["(%s, %s, %s)"] * len(days))
    sql = f"""
        WITH days (nth, from_s, until_s) AS (VALUES {stretches})
        SELECT place.id, days.nth FROM {_PLACES} AS place, days
        WHERE place.id IN ({given}) AND NOT EXISTS (
            SELECT 1 FROM {_READINGS} AS reading WHERE reading.place_id = place.id
                AND reading.at_s >= days.from_s AND reading.at_s < days.until_s)
        ORDER BY 1, 2
    """  # noqa: S608 - names of our own tables
    bounds = [
        value
        for nth, day in enumerate(days)
        for value in (nth, _begins(day, zone), _begins(day + timedelta(days=1), zone))
    ]
    with connection.cursor() as cursor:
        cursor.execute(sql, [*bounds, *(place.pk for place in places)])
        for pk, nth in cursor.fetchall():
            missed[pk].append(days[nth])
    return missed


def _begins(day: date, zone: ZoneInfo) -> int:
    return int(datetime.combine(day, time.min, zone).timestamp())
