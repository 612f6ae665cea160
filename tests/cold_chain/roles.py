"""Who may open and who may send the pages of the cold room, and a record for each address."""

import io
from decimal import Decimal

from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.log_file import sniff
from kegsafe.cold_chain.models import (
    CoolingRecord,
    ImportedLog,
    LogFile,
    Logger,
    Reading,
    Thermometer,
    TimeHold,
)
from kegsafe.equipment.models import Place
from kegsafe.ledger.services import create
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS
from kegsafe.venues.models import Venue
from tests.builders import a_recorder

COLD = {
    "cold-round": (EVERYBODY, RECORDERS),
    "cold-readings": (EVERYBODY, NOBODY),
    "cold-reading": (EVERYBODY, NOBODY),
    "cold-reading-amend": (MANAGERS, MANAGERS),
    "cold-place": (EVERYBODY, NOBODY),
    "cold-chart": (EVERYBODY, NOBODY),
    "cold-place-cooling": (MANAGERS, MANAGERS),
    "cold-action": (RECORDERS, RECORDERS),
    "cold-gaps": (EVERYBODY, NOBODY),
    "cold-gap": (MANAGERS, MANAGERS),
    "cold-gaps-together": (MANAGERS, MANAGERS),
    "cold-log-add": (RECORDERS, RECORDERS),
    "cold-log-file": (RECORDERS, RECORDERS),
    "cold-log": (EVERYBODY, NOBODY),
    "cold-logger-add": (MANAGERS, MANAGERS),
    "cold-logger": (MANAGERS, MANAGERS),
    "thermometers": (EVERYBODY, NOBODY),
    "thermometer": (EVERYBODY, RECORDERS),
    "thermometer-add": (MANAGERS, MANAGERS),
    "coolings": (EVERYBODY, NOBODY),
    "cooling": (EVERYBODY, RECORDERS),
    "cooling-add": (RECORDERS, RECORDERS),
    "time-holds": (EVERYBODY, NOBODY),
    "time-hold": (EVERYBODY, RECORDERS),
    "time-hold-add": (RECORDERS, RECORDERS),
}
COLD_KINDS = (
    *("cold-reading", "cold-log", "cold-log-file", "cold-logger"),
    *("thermometer", "cooling", "time-hold"),
)
# Addresses that begin like a record of the cold room and name a place.
OF_A_PLACE = dict.fromkeys(
    (
        "cold-place",
        "cold-chart",
        "cold-place-cooling",
        "cold-action",
        "cold-gap",
        "cold-log-add",
        "cold-logger-add",
    ),
    "place",
)


def add_cold_records(venue: Venue) -> None:
    """Record a logger with a file that went in and one that waits, a thermometer, a cooling."""
    by = a_recorder(venue)
    place = Place.objects.filter(venue=venue).first()
    logger = services.add_logger(place=place, name="Grey box", interval_s=60, by=by)
    content = "time,temperature (°C)\n2026-04-13T10:00:00Z,3.1\n".encode()
    services.import_log(
        place=place,
        stream=io.BytesIO(content),
        name="april.csv",
        shape=sniff(content).shape,
        by=by,
        logger=logger,
    )
    services.keep_log_file(place=place, logger=None, name="may.csv", content=content, by=by)
    services.add_thermometer(venue=venue, name="Probe", is_air=False, by=by)
    services.begin_cooling(
        venue=venue,
        what="Ginger syrup",
        procedure="hot",
        began_at=timezone.now(),
        degc=Decimal(80),
        by=by,
    )
    # Not every code lets a venue begin one.
    hold = TimeHold(
        venue=venue,
        what="Cream jug",
        way=TimeHold.Way.FOUR_HOURS,
        removed_at=timezone.now(),
        start_degc=Decimal(4),
        procedure="Procedure 3, in the office",
        begun_by=by.person,
    )
    create(hold, by=by, action="held by time")


def cold_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    return {
        "cold-reading": Reading.objects.filter(place__venue=venue).first(),
        "cold-log": ImportedLog.objects.filter(place__venue=venue).first(),
        "cold-log-file": LogFile.objects.filter(place__venue=venue).first(),
        "cold-logger": Logger.objects.filter(place__venue=venue).first(),
        "thermometer": Thermometer.objects.filter(venue=venue).first(),
        "cooling": CoolingRecord.objects.filter(venue=venue).first(),
        "time-hold": TimeHold.objects.filter(venue=venue).first(),
    }
