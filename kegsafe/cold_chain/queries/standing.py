"""How places stand: the limit and thermometer of each, and its excursions."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from kegsafe.cold_chain.models import CorrectiveAction, PlaceCooling, ThermometerCheck
from kegsafe.cold_chain.queries.place_log import PlaceLog, Wanted, place_logs
from kegsafe.equipment.models import Place
from kegsafe.rules.cold.excursions import ColdRecord, Excursion
from kegsafe.rules.cold.fill_effect import longest_gap_s
from kegsafe.rules.cold.temperature_log import limit_centi_degc, reading_centi_degc
from kegsafe.rules.cold.thermometers import Check, Standing, standing, tolerance
from kegsafe.rules.date_candidates import limit_if_any
from kegsafe.rules.facts import House

COLD_RULE = "cold_holding.maximum"
LOOKED_BACK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Standard:
    """What a place's readings are held against. `limit` None: nobody has set one.

    limit, accuracy : hundredths of a degC
    citation : whose limit it is
    """

    limit: int | None
    citation: str
    longest_gap: int
    accuracy: int
    cooling: PlaceCooling | None
    thermometer: Standing | None


@dataclass(frozen=True, slots=True)
class PlaceStanding:
    """A place over a stretch of time. `record` is None without a limit."""

    place: Place
    standard: Standard
    record: ColdRecord | None
    log: PlaceLog

    @property
    def open_excursion(self) -> Excursion | None:
        """Return the excursion that goes on."""
        return self.record.open_excursion if self.record else None


def standards(places: Iterable[Place], house: House, now: datetime) -> dict[int, Standard]:
    """Return the standard of each place: two queries for all."""
    known = list(places)
    coolings = {
        cooling.place_id: cooling
        for cooling in PlaceCooling.objects.filter(place__in=known).select_related("thermometer")
    }
    probes = {each.thermometer_id for each in coolings.values() if each.thermometer_id}
    checks: dict[int, list[Check]] = defaultdict(list)
    for check in ThermometerCheck.objects.filter(thermometer__in=probes):
        checks[check.thermometer_id].append(check.as_fact())
    return {
        place.pk: _standard(place, coolings.get(place.pk), checks, house, now) for place in known
    }


def _standard(
    place: Place,
    cooling: PlaceCooling | None,
    checks: dict[int, list[Check]],
    house: House,
    now: datetime,
) -> Standard:
    on = now.astimezone(house.zone).date()
    governing = limit_if_any(house, COLD_RULE, on) if place.is_chilled else None
    limit = None if governing is None else limit_centi_degc(governing.value)
    citation = governing.citation if governing else ""
    own = cooling.limit_degc if cooling else None
    if own is not None and (limit is None or limit_centi_degc(own) < limit):
        limit, citation = limit_centi_degc(own), "this place's own limit"
    accuracy, stands = 0, None
    if cooling is not None and cooling.thermometer is not None:
        allowed = tolerance(house, on, is_air=cooling.thermometer.is_air)
        stands = standing(checks.get(cooling.thermometer_id, ()), now, allowed)
        accuracy = reading_centi_degc(stands.accuracy_degc(allowed))
    gap = longest_gap_s(cooling.reading_interval_s if cooling else None)
    return Standard(limit, citation, gap, accuracy, cooling, stands)


def standings(
    places: Iterable[Place], house: House, from_at: datetime, until_at: datetime, now: datetime
) -> list[PlaceStanding]:
    """Return how each place stood over a stretch: three queries for all."""
    known = list(places)
    held = standards(known, house, now)
    from_s, until_s = int(from_at.timestamp()), int(until_at.timestamp())
    logs = place_logs(
        Wanted(place.pk, from_s, until_s, _good_up_to(held[place.pk]), held[place.pk].longest_gap)
        for place in known
    )
    return [
        _standing(place, held[place.pk], logs.get(place.pk, PlaceLog(())), from_s, until_s)
        for place in known
    ]


def _good_up_to(standard: Standard) -> int:
    return 32_767 if standard.limit is None else standard.limit - standard.accuracy


def _standing(
    place: Place, standard: Standard, log: PlaceLog, from_s: int, until_s: int
) -> PlaceStanding:
    record = None
    if standard.limit is not None:
        record = log.record(
            from_s,
            until_s,
            limit=standard.limit,
            longest_gap=standard.longest_gap,
            accuracy=standard.accuracy,
        )
    return PlaceStanding(place, standard, record, log)


def actions(places: Iterable[Place], since_s: int) -> list[CorrectiveAction]:
    """Return what was done about excursions since, newest first: one query."""
    found = CorrectiveAction.objects.filter(place__in=list(places), excursion_from_s__gte=since_s)
    return list(found.order_by("-taken_at"))


@dataclass(frozen=True, slots=True)
class Warm:
    """A place that is above its limit now, or was and nobody has said what was done about it."""

    place: Place
    excursion: Excursion
    actions: tuple[CorrectiveAction, ...]

    @property
    def above(self) -> timedelta:
        """Return how long it counts as above so far."""
        return timedelta(seconds=self.excursion.above_s)


def warm_places(places: Iterable[Place], house: House, now: datetime) -> list[Warm]:
    """Return the newest excursion of the last week of each place that asks for something.

    Open ones come first. Four queries for all places.
    """
    since = now - LOOKED_BACK
    found = standings(places, house, since, now, now)
    newest = [
        (each.place, each.record.excursions[-1])
        for each in found
        if each.record and each.record.excursions
    ]
    if not newest:
        return []
    done = actions([place for place, _ in newest], int(since.timestamp()))
    warm = [
        Warm(
            place,
            excursion,
            tuple(
                act
                for act in done
                if act.place_id == place.pk
                and excursion.from_s <= act.excursion_from_s <= excursion.until_s
            ),
        )
        for place, excursion in newest
    ]
    asking = [each for each in warm if each.excursion.is_open or not each.actions]
    return sorted(asking, key=lambda each: (not each.excursion.is_open, each.place.name))
