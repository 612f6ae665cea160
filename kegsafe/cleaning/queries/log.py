"""The cleaning log: cycles newest first, page by page from where the last one ended."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db.models import Q, QuerySet

from kegsafe.cleaning.models import Cycle
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries.circuits import with_steps
from kegsafe.equipment.models import Placement
from kegsafe.venues.models import Venue

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Position:
    """Where a page of the log ends: the next one holds what is older."""

    started_at: datetime
    pk: int

    @classmethod
    def of(cls, cycle: Cycle) -> "Position":
        """Return where the log stands after a cycle."""
        return cls(cycle.started_at, cycle.pk)

    @classmethod
    def read(cls, text: str) -> "Position | None":
        """Return the position that an address names; None for anything else."""
        moment, _, pk = text.partition("-")
        if not (moment.isdecimal() and pk.isdecimal() and len(text) < 40):
            return None
        try:
            return cls(_EPOCH + int(moment) * _MICROSECOND, int(pk))
        except OverflowError:
            return None

    def __str__(self) -> str:
        return f"{(self.started_at - _EPOCH) // _MICROSECOND}-{self.pk}"


def cycle_log(
    venue: Venue,
    *,
    piece: str = "",
    place: int | None = None,
    person: str = "",
    result: str = "",
    since: datetime | None = None,
    until: datetime | None = None,
    after: Position | None = None,
) -> QuerySet[Cycle]:
    """Return a venue's cycles with steps and corrective actions, newest first.

    piece : a key such as 'line-12'; person : who cleaned or checked; until : not included;
    after : where the page before ended
    """
    wanted: dict[str, Any] = {}
    sort, _, pk = piece.partition("-")
    if sort in SORTS and pk.isdecimal():
        wanted[sort] = int(pk)
    if result:
        wanted["result"] = result
    if since is not None:
        wanted["started_at__gte"] = since
    if until is not None:
        wanted["started_at__lt"] = until
    log = Cycle.objects.filter(venue=venue, **wanted)
    if place is not None:
        standing = Placement.objects.filter(place=place, ended_at=None).values("keg")
        log = log.filter(Q(item__place=place) | Q(keg__in=standing))
    if person:
        log = log.filter(Q(operator__iexact=person) | Q(verified_by__iexact=person))
    if after is not None:
        same_moment = Q(started_at=after.started_at, pk__lt=after.pk)
        log = log.filter(Q(started_at__lt=after.started_at) | same_moment)
    log = log.select_related("plan", *SORTS).order_by("-started_at", "-pk")
    return with_steps(log).prefetch_related("corrective_actions")
