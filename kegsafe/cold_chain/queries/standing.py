"""How places stand: the limit and thermometer of each, and its excursions."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal

from kegsafe.cold_chain.models import (
    CorrectiveAction,
    PlaceCooling,
    Thermometer,
    ThermometerCheck,
)
from kegsafe.cold_chain.queries.beginnings import (
    FOLLOWED_BACK_S,
    Edge,
    beginnings,
    followed_back,
)
from kegsafe.cold_chain.queries.corrective import is_about
from kegsafe.cold_chain.queries.place_log import PlaceLog, Wanted, place_logs
from kegsafe.equipment.models import Place
from kegsafe.rules.cold.excursions import ColdRecord, Excursion, Gap
from kegsafe.rules.cold.held_limits import (
    NO_LIMIT,
    Held,
    held_between,
    held_over,
    limits_of_days,
    record_over,
)
from kegsafe.rules.cold.monitoring import longest_gap_s
from kegsafe.rules.cold.thermometers import (
    Cause,
    Check,
    Doubt,
    Standing,
    Tolerance,
    no_thermometer,
    standing,
    tolerance,
)
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding
from kegsafe.rules.limits import EffectiveLimit

COLD_RULE = "cold_holding.maximum"
LOOKED_BACK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Standard:
    """What a place's readings are held against over a stretch of time.

    held : by the limit and the belief of each day, in order; at least one
    longest_gap : seconds two readings may stand apart
    thermometer : how its checks stand; None: no thermometer is on record for the place
    """

    held: tuple[Held, ...]
    longest_gap: int
    cooling: PlaceCooling | None
    thermometer: Standing | None

    @property
    def limit(self) -> int | None:
        """Return the limit at the end of the stretch in hundredths of a degC, None for none."""
        return self.held[-1].limit

    @property
    def citation(self) -> str:
        """Return whose limit that is."""
        return self.held[-1].citation

    @property
    def has_limit(self) -> bool:
        """Say whether some limit held in the stretch."""
        return any(each.limit is not None for each in self.held)

    @property
    def limit_changed(self) -> bool:
        """Say whether more than one limit held in the stretch."""
        return len({each.limit for each in self.held}) > 1

    @property
    def accuracy(self) -> int:
        """Return what the thermometer may be off at the end, in hundredths of a degC."""
        return self.held[-1].accuracy

    @property
    def good_up_to(self) -> int:
        """Return the warmest reading that is good on every day of the stretch."""
        return min(each.good_up_to for each in self.held)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what the checks of its thermometer say today, or that none is on record."""
        return self.thermometer.findings if self.thermometer else (no_thermometer(),)

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """Return when its readings are doubtful, for all that checks can say."""
        if self.thermometer is None:
            return (Doubt(None, None, Cause.NO_THERMOMETER),)
        return self.thermometer.doubts


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


def standards(
    places: Iterable[Place],
    house: House,
    now: datetime,
    *,
    from_at: datetime | None = None,
    until_at: datetime | None = None,
) -> dict[int, Standard]:
    """Return the standard of each place over a stretch, or at `now`: two queries for all."""
    known = list(places)
    from_s, until_s = (int((at or now).timestamp()) for at in (from_at, until_at))
    limits = limits_of_days(house, COLD_RULE, from_s, until_s)
    coolings = {
        cooling.place_id: cooling
        for cooling in PlaceCooling.objects.filter(place__in=known).select_related("thermometer")
    }
    probes = {each.thermometer_id for each in coolings.values() if each.thermometer_id}
    checks: dict[int, list[Check]] = defaultdict(list)
    for check in ThermometerCheck.objects.filter(thermometer__in=probes):
        checks[check.thermometer_id].append(check.as_fact())
    return {
        place.pk: _standard(place, coolings.get(place.pk), checks, house, now, limits, until_s)
        for place in known
    }


def _standard(
    place: Place,
    cooling: PlaceCooling | None,
    checks: dict[int, list[Check]],
    house: House,
    now: datetime,
    limits: list[tuple[int, EffectiveLimit | None]],
    until_s: int,
) -> Standard:
    on = now.astimezone(house.zone).date()
    stands, off_degc = None, Decimal(0)
    if cooling is not None and cooling.thermometer is not None:
        allowed = tolerance(house, on, is_air=cooling.thermometer.is_air)
        stands, off_degc = standing(checks[cooling.thermometer_id], now, allowed), allowed.degc
    held = held_over(
        limits if place.is_chilled else [(limits[0][0], None)],
        until_s,
        own_degc=cooling.limit_degc if cooling else None,
        doubts=stands.doubts if stands else (),
        off_degc=off_degc,
    )
    gap = longest_gap_s(cooling.reading_interval_s if cooling else None, house, on)
    return Standard(held, gap, cooling, stands)


def thermometer_standing(
    thermometer: Thermometer, house: House, now: datetime
) -> tuple[Standing, Tolerance]:
    """Return how a thermometer's checks stand and what it may be off: one query."""
    on = now.astimezone(house.zone).date()
    allowed = tolerance(house, on, is_air=thermometer.is_air)
    checks = [check.as_fact() for check in thermometer.checks.all()]
    return standing(checks, now, allowed), allowed


def standings(
    places: Iterable[Place], house: House, from_at: datetime, until_at: datetime, now: datetime
) -> list[PlaceStanding]:
    """Return how each place stood over a stretch: four queries for all.

    An excursion that had begun before the stretch is one thing with one beginning, whichever day
    it is looked at from: it comes whole. Its end is that of the stretch, and gaps are cut to it.
    """
    known = list(places)
    from_s, until_s = int(from_at.timestamp()), int(until_at.timestamp())
    early_at = datetime.fromtimestamp(followed_back(from_s), from_at.tzinfo)
    found = standards(known, house, now, from_at=early_at, until_at=until_at)
    begun = beginnings(Edge(place.pk, from_s, found[place.pk].held) for place in known)
    stretches = {
        place.pk: _Stretch(from_s, until_s, begun.get(place.pk), found[place.pk].held)
        for place in known
    }
    logs = place_logs(
        stretches[place.pk].wanted(place.pk, found[place.pk].longest_gap) for place in known
    )
    return [
        _standing(place, found[place.pk], logs.get(place.pk, PlaceLog(())), stretches[place.pk])
        for place in known
    ]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What is asked of one place: the stretch, from when on it is read, and all it was held to.

    begun_s : as `beginnings` gives it
    """

    from_s: int
    until_s: int
    begun_s: int | None
    held: tuple[Held, ...]

    def held_since(self, from_s: int) -> tuple[Held, ...]:
        return held_between(self.held, from_s, self.until_s)

    def wanted(self, place: int, longest_gap: int) -> Wanted:
        from_s = self.from_s if self.begun_s is None else self.begun_s
        good_up_to = min(each.good_up_to for each in self.held_since(from_s))
        return Wanted(place, from_s, self.until_s, good_up_to, longest_gap)


def _standing(place: Place, known: Standard, log: PlaceLog, stretch: _Stretch) -> PlaceStanding:
    standard = replace(known, held=stretch.held_since(stretch.from_s))
    record = _record(standard, log, stretch) if standard.has_limit else None
    return PlaceStanding(place, standard, record, log)


def _record(standard: Standard, log: PlaceLog, stretch: _Stretch) -> ColdRecord:
    """Return what the log shows of a stretch, from where what reaches into it began."""
    if stretch.begun_s is not None:
        found = _record_since(stretch.begun_s, standard, log, stretch)
        return found.reaching_past(stretch.from_s)
    # Nothing had been read when the stretch began: nothing is above before the first reading.
    first_s = stretch.until_s if log.first_s is None else log.first_s
    before = Gap(stretch.from_s, min(first_s, stretch.until_s), counts_as_above=False)
    gaps = (before,) if log.first_s is None or before.seconds > standard.longest_gap else ()
    if log.first_s is None or first_s > stretch.until_s:
        return ColdRecord(stretch.from_s, stretch.until_s, (), gaps)
    found = _record_since(first_s, standard, log, stretch)
    return replace(found, from_s=stretch.from_s, gaps=gaps + found.gaps)


def _record_since(from_s: int, standard: Standard, log: PlaceLog, stretch: _Stretch) -> ColdRecord:
    until_s = max(stretch.until_s, from_s + 1)  # a reading of this second shows already
    held = stretch.held_since(from_s)
    known = log if len(held) == 1 else log.carried_to(from_s, until_s)

    def record(begins_s: int, ends_s: int, each: Held) -> ColdRecord:
        return known.record(
            begins_s,
            ends_s,
            limit=NO_LIMIT if each.limit is None else each.limit,
            longest_gap=standard.longest_gap,
            accuracy=0 if each.limit is None else each.accuracy,
        )

    return record_over(held, until_s, record)


def actions(places: Iterable[Place], since_s: int) -> list[CorrectiveAction]:
    """Return what was done about excursions since, newest first: one query."""
    found = CorrectiveAction.objects.filter(place__in=list(places), excursion_from_s__gte=since_s)
    return list(found.order_by("-taken_at"))


def actions_about(found: Sequence[tuple[Place, Excursion]]) -> list[list[CorrectiveAction]]:
    """Return what was done about each excursion, newest first: one query, none for none."""
    if not found:
        return []
    since_s = min(excursion.from_s for _, excursion in found) - FOLLOWED_BACK_S
    done = actions({place for place, _ in found}, since_s)
    return [
        [act for act in done if act.place_id == place.pk and is_about(act, excursion)]
        for place, excursion in found
    ]


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

    For the first page and the round. Open ones come first; an excursion that is over is named
    until somebody recorded what was done about it. At most five queries, whatever the number of
    places and of readings; only hours in which something was too warm are read one by one.

    places : of one venue, the one of `house`
    now : aware
    """
    found = standings(places, house, now - LOOKED_BACK, now, now)
    newest = [
        (each.place, each.record.excursions[-1])
        for each in found
        if each.record and each.record.excursions
    ]
    warm = [
        Warm(place, excursion, tuple(done))
        for (place, excursion), done in zip(newest, actions_about(newest), strict=True)
    ]
    asking = [each for each in warm if each.excursion.is_open or not each.actions]
    return sorted(asking, key=lambda each: (not each.excursion.is_open, each.place.name))
