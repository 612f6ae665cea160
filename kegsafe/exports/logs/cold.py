"""What was read in the cold, what was found in it, and whether to believe the thermometers."""

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal

from django.utils import timezone

from kegsafe.cold_chain.models import (
    CoolingReading,
    CorrectiveAction,
    GapDecision,
    HourOfReadings,
    LoggedReading,
    Reading,
    ThermometerCheck,
    TimeHold,
)
from kegsafe.cold_chain.queries.standing import standings
from kegsafe.equipment.models import Place
from kegsafe.exports.logs.log import (
    Column,
    Log,
    Period,
    Row,
    by_name,
    in_pages,
    moment,
    recorded,
    words,
)
from kegsafe.rules.cold.excursions import Excursion
from kegsafe.stock.facts import house
from kegsafe.venues.models import Venue

_HUNDREDTH = Decimal("0.01")


def _epoch(second: int | None) -> datetime | None:
    return None if second is None else datetime.fromtimestamp(second, UTC)


def _second(at: datetime) -> int:
    return int(at.timestamp())


def _degrees(hundredths: int) -> Decimal:
    return Decimal(hundredths).scaleb(-2)


def _hours(seconds: float) -> Decimal:
    return (Decimal(seconds) / 3600).quantize(_HUNDREDTH)


_READINGS = (
    moment("read_at", "Read"),
    Column("place", "Place", "place__name"),
    Column("temperature_degc", "Temperature (°C)"),
    Column("recorded_by", "Read by"),
    Column("note", "Note"),
)
_LOGGED = (
    Column("place", "Place", "place__name"),
    Column("read_at", "Read", "at_s", _epoch, is_moment=True),
    Column("temperature_degc", "Temperature (°C)", "centi_degc", _degrees),
    words("source", "Came", LoggedReading.Source.choices),
)
_EXCURSIONS = (
    Column("place", "Place"),
    moment("from_at", "Counts as above the limit from"),
    moment("until_at", "Counts as above the limit until"),
    Column("goes_on", "Goes on at the end of the period"),
    Column("above_h", "Counts as above (h)"),
    Column("unread_h", "Of it not read (h)"),
    Column("warmest_degc", "Warmest (°C)"),
    moment("warmest_at", "Warmest at"),
    Column("above_by_lines_h", "Above by straight lines between readings, for information (h)"),
    Column("equivalent_h_at_5_degc", "Growth as in so many hours at 5 °C, of the hours known (h)"),
)
_ACTIONS = (
    moment("taken_at", "Taken"),
    Column("place", "Place", "place__name"),
    Column("excursion_from", "Excursion from", "excursion_from_s", _epoch, is_moment=True),
    Column("what", "What was done"),
    Column("taken_by", "Taken by"),
)
_GAPS = (
    moment("decided_at", "Decided"),
    Column("place", "Place", "place__name"),
    Column("from_at", "Not read from", "from_s", _epoch, is_moment=True),
    Column("until_at", "Not read until", "until_s", _epoch, is_moment=True),
    words("counts", "Counts as", GapDecision.Counts.choices),
    Column("found", "What was found"),
    Column("measured_degc", "The drink measured (°C)"),
    Column("thermometer", "Thermometer", "thermometer__name"),
    Column("decided_by", "Decided by"),
)
_HOLDS = (
    Column("what", "What is held by the clock"),
    words("way", "How long", TimeHold.Way.choices),
    moment("removed_at", "Left the cold"),
    Column("start_degc", "Temperature then (°C)"),
    Column("procedure", "Written procedure"),
    Column("begun_by", "Begun by"),
    moment("ended_at", "Ended"),
    words("ended_as", "Ended as", TimeHold.End.choices),
    Column("ended_by", "Ended by"),
)
_COOLINGS = (
    moment("read_at", "Read"),
    Column("what", "What cooled", "cooling__what"),
    moment("began_at", "Cooling began", "cooling__began_at"),
    Column("temperature_degc", "Temperature (°C)"),
    Column("recorded_by", "Read by"),
)
_CHECKS = (
    moment("checked_at", "Checked"),
    Column("thermometer", "Thermometer", "thermometer__name"),
    words("method", "In", ThermometerCheck.Means.choices),
    Column("read_degc", "Read (°C)"),
    Column("altitude_m", "Altitude (m)"),
    Column("air_pa", "Air pressure (Pa absolute)"),
    Column("checked_by", "Checked by"),
)


def _logged(venue: Venue, period: Period) -> Iterator[Row]:
    """Place by place, in order of time: the order in which they lie."""
    for place in Place.objects.filter(venue=venue).order_by("pk"):
        of_place = LoggedReading.objects.filter(place=place, **period.narrows("at_s", _second))
        yield from in_pages(of_place, _LOGGED, by="at_s")


def _excursions(venue: Venue, period: Period) -> Iterator[Row]:
    """Worked out anew by the rule that the page of the place goes by, one place at a time."""
    now = timezone.now()
    for place in Place.objects.filter(venue=venue).order_by("pk"):
        first = HourOfReadings.objects.filter(place=place).order_by("hour").first()
        if first is None:
            continue
        began = datetime.fromtimestamp(first.first_s, UTC)
        since = max(period.since or began, began)
        until = min(period.until or now, now)
        if since < until:
            [standing] = standings([place], house(venue), since, until, now)
            found = standing.record.excursions if standing.record else ()
            yield from (by_name(_excursion(place, each), _EXCURSIONS) for each in found)


def _excursion(place: Place, found: Excursion) -> dict[str, object]:
    return {
        "place": place.name,
        "from_at": _epoch(found.from_s),
        "until_at": _epoch(found.until_s),
        "goes_on": found.is_open,
        "above_h": _hours(found.above_s),
        "unread_h": _hours(found.unread_s),
        "warmest_degc": found.warmest_degc,
        "warmest_at": _epoch(found.warmest_at_s),
        "above_by_lines_h": _hours(found.line_s),
        "equivalent_h_at_5_degc": Decimal(found.equivalent_h).quantize(_HUNDREDTH),
    }


LOGS = (
    Log(
        "readings-by-hand",
        "Cold readings by hand",
        "Temperatures of the places as somebody read them.",
        _READINGS,
        recorded(lambda venue: Reading.objects.filter(place__venue=venue), _READINGS, at="read_at"),
    ),
    Log(
        "readings",
        "All cold readings",
        "By hand, from logger files and over the network. Long: narrow it by the period.",
        _LOGGED,
        _logged,
    ),
    Log(
        "excursions",
        "Excursions",
        "When a place left its limit, worked out from the readings. A gap between readings counts "
        "as above where a reading beside it was.",
        _EXCURSIONS,
        _excursions,
    ),
    Log(
        "cold-actions",
        "Corrective actions, cold",
        "What was done about excursions.",
        _ACTIONS,
        recorded(
            lambda venue: CorrectiveAction.objects.filter(place__venue=venue),
            _ACTIONS,
            at="taken_at",
        ),
    ),
    Log(
        "gap-decisions",
        "Decisions on unread time",
        "What a manager decided of hours that nobody read, and on what evidence.",
        _GAPS,
        recorded(
            lambda venue: GapDecision.objects.filter(place__venue=venue), _GAPS, at="decided_at"
        ),
    ),
    Log(
        "time-holds",
        "Held by the clock",
        "What left the cold to be served or discarded by a moment.",
        _HOLDS,
        recorded(lambda venue: TimeHold.objects.filter(venue=venue), _HOLDS, at="removed_at"),
    ),
    Log(
        "cooling",
        "Cooling records",
        "Readings in what cooled after it was made hot.",
        _COOLINGS,
        recorded(
            lambda venue: CoolingReading.objects.filter(cooling__venue=venue),
            _COOLINGS,
            at="read_at",
        ),
    ),
    Log(
        "thermometer-checks",
        "Thermometer checks",
        "In ice and in boiling water.",
        _CHECKS,
        recorded(
            lambda venue: ThermometerCheck.objects.filter(thermometer__venue=venue),
            _CHECKS,
            at="checked_at",
        ),
    ),
)
