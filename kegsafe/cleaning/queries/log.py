"""The cleaning log, newest first, page by page from where the last one ended.

It holds the cycles, and between them the cleans that were noted without a plan: one log, though
only a cycle can count.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db.models import Q, QuerySet

from kegsafe.cleaning.models import CleaningRecord, Cycle
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries.circuits import with_steps
from kegsafe.equipment.models import Placement
from kegsafe.venues.models import Venue

NOTED = "noted"  # what the log calls a clean without a plan, beside the results of cycles
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_NOTED_MARK = "n"

Entry = Cycle | CleaningRecord


@dataclass(frozen=True, slots=True)
class Position:
    """Where a page of the log ends: the next one holds what is older.

    Of one moment the cycles come before the cleans that were noted, each the newest first.
    """

    at: datetime
    pk: int
    is_noted: bool = False

    @classmethod
    def of(cls, entry: Entry) -> "Position":
        """Return where the log stands after an entry."""
        if isinstance(entry, Cycle):
            return cls(entry.started_at, entry.pk)
        return cls(entry.cleaned_at, entry.pk, is_noted=True)

    @classmethod
    def read(cls, text: str) -> "Position | None":
        """Return the position that an address names; None for anything else."""
        moment, _, marked = text.partition("-")
        pk = marked.removeprefix(_NOTED_MARK)
        if not (moment.isdecimal() and pk.isdecimal() and len(text) < 40):
            return None
        try:
            return cls(_EPOCH + int(moment) * _MICROSECOND, int(pk), is_noted=pk != marked)
        except OverflowError:
            return None

    def __str__(self) -> str:
        mark = _NOTED_MARK if self.is_noted else ""
        return f"{(self.at - _EPOCH) // _MICROSECOND}-{mark}{self.pk}"

    @property
    def newest_first(self) -> tuple[datetime, bool, int]:
        """Return what to sort by, the greatest first."""
        return self.at, not self.is_noted, self.pk


def log_page(
    venue: Venue, count: int, *, after: Position | None = None, **wanted: Any
) -> list[Entry]:
    """Return up to so many entries of a venue's log, newest first; `wanted` as for `cycle_log`.

    Noted cleans are read between the newest and the oldest of these cycles alone, so that a page
    costs the same however many cycles left a dated record of their own.
    """
    result = wanted.get("result", "")
    cycles = [] if result == NOTED else list(cycle_log(venue, after=after, **wanted)[:count])
    if result not in ("", NOTED):
        return cycles
    noted = _noted_log(venue, after, wanted)
    if len(cycles) == count:
        noted = noted.filter(cleaned_at__gte=cycles[-1].started_at)
    entries = [*cycles, *noted[:count]]
    return sorted(entries, key=lambda each: Position.of(each).newest_first, reverse=True)[:count]


def _noted_log(
    venue: Venue, after: Position | None, wanted: dict[str, Any]
) -> QuerySet[CleaningRecord]:
    """Return the cleans that were noted without a plan, as `cycle_log` returns the cycles."""
    log = CleaningRecord.objects.filter(venue=venue, cycle=None)
    sort, _, pk = str(wanted.get("piece", "")).partition("-")
    if pk.isdecimal():
        log = log.filter(**{sort: int(pk)}) if sort in ("keg", "line") else log.none()
    if (since := wanted.get("since")) is not None:
        log = log.filter(cleaned_at__gte=since)
    if (until := wanted.get("until")) is not None:
        log = log.filter(cleaned_at__lt=until)
    if (place := wanted.get("place")) is not None:
        log = log.filter(keg__in=Placement.objects.filter(place=place, ended_at=None).values("keg"))
    if person := wanted.get("person", ""):
        log = log.filter(recorded_by__iexact=person)
    if after is not None:
        same_moment = (
            Q(cleaned_at=after.at, pk__lt=after.pk) if after.is_noted else Q(cleaned_at=after.at)
        )
        log = log.filter(Q(cleaned_at__lt=after.at) | same_moment)
    return log.select_related("keg", "line").order_by("-cleaned_at", "-pk")


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
        same_moment = Q() if after.is_noted else Q(started_at=after.at, pk__lt=after.pk)
        log = log.filter(Q(started_at__lt=after.at) | same_moment)
    log = log.select_related("plan", *SORTS).order_by("-started_at", "-pk")
    return with_steps(log).prefetch_related("corrective_actions")
