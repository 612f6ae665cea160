"""Laying the scenario into an empty database, and keeping it fresh on later days."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from kegsafe.cold_chain.models import LoggedReading, Logger, Reading
from kegsafe.cold_chain.services import record_round
from kegsafe.demo.acts import carry_out
from kegsafe.demo.desk import Desk, read_as
from kegsafe.demo.furnishing import furnish
from kegsafe.demo.logged import EVERY, read_log
from kegsafe.demo.moments import Moments
from kegsafe.demo.scenario import Scenario, VenueScript
from kegsafe.equipment.models import Place
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind
from kegsafe.rules.cold.monitoring import longest_gap_s
from kegsafe.stock.facts import house
from kegsafe.venues.models import Venue
from kegsafe.venues.services import give_role, open_venue


@transaction.atomic
def lay(scenario: Scenario, now: datetime) -> None:
    """Lay people, venues and all that happened there, as seen from `now`: all of it or nothing.

    Raises BadScenario naming the act that a service refused.
    """
    people = {
        person.username: User.objects.create_user(
            person.username, password=person.password, first_name=person.full_name
        )
        for person in scenario.people
    }
    for script in scenario.venues:
        venue = _open(script, people)
        desk = Desk(venue, Moments(now, venue.zone))
        with timezone.override(venue.zone):
            furnish(desk, script)
            carry_out(desk, script.timelines)


def days_since_laid(venue: Venue, now: datetime) -> int:
    """Return how many dates of the venue have passed since its first record."""
    opened = Entry.objects.get(chain=venue.chain_id, sequence=1)
    opened_on = venue.local(datetime.fromtimestamp(opened.recorded_at_us / 1e6, tz=UTC))
    return (venue.local(now).date() - opened_on.date()).days


@transaction.atomic
def read_temperatures_anew(scenario: Scenario, now: datetime) -> list[Place]:
    """Read the places of each venue's round whose last reading says nothing of now any more.

    What somebody entered in the meantime is left alone. Returns the places read.
    """
    return [place for script in scenario.venues for place in _read_round(scenario, script, now)]


def _open(script: VenueScript, people: dict[str, User]) -> Venue:
    venue = open_venue(
        name=script.name,
        address=script.address,
        code_key=script.code_key,
        time_zone=script.time_zone,
        units=script.units,
        owner=people[script.owner],
    )
    by = Recorder(chain_key=venue.chain_id, person=script.owner)
    for username, role in script.roles.items():
        give_role(venue=venue, user=people[username], role=role, by=by)
    return venue


def _read_round(scenario: Scenario, script: VenueScript, now: datetime) -> list[Place]:
    venue = Venue.objects.filter(name=script.name).first()
    if venue is None:
        return []
    lasts = timedelta(seconds=longest_gap_s(None, house(venue), venue.local(now).date()))
    fresh = Reading.objects.filter(place__venue=venue, read_at__gt=now - lasts).values("place")
    due = Place.objects.filter(venue=venue, name__in=script.round, is_active=True)
    readings = {
        place: read_as(script.round[place.name], Kind.TEMPERATURE)
        for place in due.exclude(pk__in=fresh)
    }
    by = Recorder(chain_key=venue.chain_id, person=scenario.recorded_by)
    _read_loggers(readings, now, by)
    record_round(venue=venue, readings=readings, read_at=now, by=by)
    return list(readings)


def _read_loggers(readings: Mapping[Place, Decimal], now: datetime, by: Recorder) -> None:
    """Take in what the loggers of these places went on writing while nobody looked at the demo."""
    for logger in Logger.objects.filter(place__in=readings).select_related("place"):
        last = LoggedReading.objects.filter(place=logger.place).order_by("-at_s").first()
        if last is not None:
            since = datetime.fromtimestamp(last.at_s, UTC) + EVERY
            read_log(logger, since, now, readings[logger.place], by)
