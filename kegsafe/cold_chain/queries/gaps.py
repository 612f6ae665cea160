"""Time that nobody read in the cold places of a venue, and what managers decided of it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from kegsafe.cold_chain.models import GapDecision
from kegsafe.cold_chain.queries.place_log import PlaceLog
from kegsafe.cold_chain.queries.standing import PlaceStanding, standings
from kegsafe.equipment.models import Keg, Place, Placement
from kegsafe.equipment.queries import AS_COUNTED
from kegsafe.rules.cold.history import Decision, History, Stay, Unread
from kegsafe.rules.facts import House

LOOKED_BACK = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class PlaceGaps:
    """The unread time of a place over a stretch, each part with the decision that holds.

    `longest_gap_s` is how long a reading speaks for this place; `log` what it read.
    """

    place: Place
    longest_gap_s: int
    history: History
    log: PlaceLog

    @property
    def parts(self) -> tuple[Unread, ...]:
        """Return every part, decided or not, in order of time."""
        return tuple(part for stay in self.history.stays for part in stay.unread)

    @property
    def closed(self) -> tuple[Unread, ...]:
        """Return the parts a manager can decide about, or decide anew: those that are over."""
        return tuple(part for part in self.parts if not self.history.is_open(part))

    @property
    def undecided(self) -> tuple[Unread, ...]:
        """Return the parts that wait for a decision."""
        return tuple(part for part in self.closed if part.decision is None)

    @property
    def waiting(self) -> tuple[Unread, ...]:
        """Return those after the first reading ever: before it the place was not in use yet.

        A drink that stood there even then asks for itself.
        """
        first_s = self.history.until_s if self.log.first_s is None else self.log.first_s
        return tuple(part for part in self.undecided if part.until_s > first_s)

    @property
    def open_since_s(self) -> int | None:
        """Return since when the place has not been read, where that is too long ago."""
        found = [part.from_s for part in self.parts if self.history.is_open(part)]
        return found[-1] if found and self.log.parts else None


def gaps_of(
    places: Iterable[Place], house: House, from_at: datetime, until_at: datetime, now: datetime
) -> list[PlaceGaps]:
    """Return the unread time of each cold place over a stretch: four queries for all."""
    cold = [place for place in places if place.is_chilled]
    stood = standings(cold, house, from_at, until_at, now)
    decisions = decisions_of(cold, int(from_at.timestamp()))
    return [_gaps(each, decisions[each.place.pk], from_at, until_at) for each in stood]


def decisions_of(places: Iterable[Place], since_s: int) -> dict[int, list[Decision]]:
    """Return what was decided of each place since a second, in the order it was recorded."""
    found: dict[int, list[Decision]] = defaultdict(list)
    for each in GapDecision.objects.filter(place__in=list(places), until_s__gt=since_s).order_by(
        "pk"
    ):
        found[each.place_id].append(each.as_fact())
    return found


def kegs_there(place: Place, from_at: datetime, until_at: datetime) -> list[str]:
    """Return the names of the kegs that stood in a place at some time of a stretch: one query."""
    stood = Placement.objects.filter(place=place, began_at__lt=until_at).exclude(
        ended_at__lte=from_at
    )
    kegs = Keg.objects.filter(pk__in=stood.values("keg")).order_by(*AS_COUNTED)
    return list(kegs.values_list("name", flat=True))


def whole_gap(found: PlaceGaps) -> tuple[int, int] | None:
    """Return the unread time of a stretch, carried out to the readings on either side of it.

    None where all of it was read, or counts as above the limit already.
    """
    parts = found.closed
    if not parts:
        return None
    read = [second for times, _ in found.log.parts for second in times]
    from_s, until_s = parts[0].from_s, parts[-1].until_s
    return (
        max((second for second in read if second <= from_s), default=from_s),
        min((second for second in read if second >= until_s), default=until_s),
    )


def _gaps(
    stood: PlaceStanding, decisions: list[Decision], from_at: datetime, until_at: datetime
) -> PlaceGaps:
    from_s, until_s = int(from_at.timestamp()), int(until_at.timestamp())
    stays: tuple[Stay, ...] = ()
    if stood.record is not None:
        stays = (
            Stay(
                place=stood.place.name,
                is_chilled=True,
                from_s=from_s,
                until_s=until_s,
                record=stood.record,
                decisions=tuple(decisions),
            ),
        )
    history = History(from_s, until_s, stays, last_read=stood.log.last)
    return PlaceGaps(stood.place, stood.standard.longest_gap, history, stood.log)
