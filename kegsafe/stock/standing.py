"""How a lot stands now: in date, ending soon, past, on hold, and why. Gathers; the rules decide."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum

from kegsafe.rules.date_candidates import Candidate
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.drawing import draw_checks
from kegsafe.rules.facts import House, LotStatus, Part
from kegsafe.rules.findings import Finding, gravest_first
from kegsafe.rules.lot_dates import dates_in_stock
from kegsafe.stock.facts import house, parts_in_stock
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue

# Common practice, no source: what ends within two days is used first.
SOON = timedelta(days=2)


class Stand(Enum):
    """How a lot stands: its words, and the mark they go with."""

    IN_DATE = ("In date", "pour")
    ENDS_SOON = ("Ends soon", "ask")
    UNDATED = ("No date known", "ask")
    FROZEN = ("In the freezer", "ask")
    PAST = ("Past its date", "stop")
    ON_HOLD = ("On hold", "stop")
    MADE_OF_HELD = ("Made of a lot on hold", "stop")
    REJECTED = ("Rejected on arrival", "stop")
    DISCARDED = ("Discarded", "stop")
    USED_UP = ("Used up", "used")

    @property
    def words(self) -> str:
        return self.value[0]

    @property
    def mark(self) -> str:
        return self.value[1]


@dataclass(frozen=True, slots=True)
class Standing:
    """A lot, how it stands, when it ends and what says so, the binding date first."""

    lot: Lot
    stand: Stand
    ends_at: datetime | None
    candidates: tuple[Candidate, ...]
    part: Part
    house: House
    asked_at: datetime

    @property
    def binding(self) -> Candidate | None:
        """Return what ends it first, None where nothing does."""
        return self.candidates[0] if self.candidates else None

    @property
    def reasons(self) -> tuple[Finding, ...]:
        """Return what stands against drawing from it, then every date with its reason.

        Asked of the rules only for a page of one lot, not for every row of a list.
        """
        dates = [
            candidate.as_finding(binds=place == 0)
            for place, candidate in enumerate(self.candidates)
        ]
        return (*gravest_first(draw_checks(self.part, self.house, self.asked_at)), *dates)


def standings(lots: Sequence[Lot], venue: Venue, now: datetime) -> list[Standing]:
    """Return how each lot stands, in the order given: four queries beside the lots' own.

    A preparation stands no better and no longer than any lot behind it.
    """
    facts = parts_in_stock([lot.pk for lot in lots], venue.zone)
    at_house = house(venue)
    return [_standing(lot, facts[lot.pk], at_house, now) for lot in lots]


def _standing(lot: Lot, part: Part, at_house: House, now: datetime) -> Standing:
    dates = dates_in_stock(part, at_house, day_one(now, at_house.zone, None))
    candidates = tuple(sorted(dates.candidates, key=lambda each: each.ends_at))
    ends_at = candidates[0].ends_at if candidates else None
    if _is_frozen(part):
        stand = Stand.FROZEN
    else:
        stand = _stand_by_date(ends_at, now, is_dated=dates.is_dated)
    return Standing(
        lot=lot,
        stand=_stand_by_status(lot) or _stand_by_lots_behind(part) or stand,
        ends_at=ends_at,
        candidates=candidates,
        part=part,
        house=at_house,
        asked_at=now,
    )


def _stand_by_status(lot: Lot) -> Stand | None:
    by_status = {
        Lot.Status.ON_HOLD: Stand.ON_HOLD,
        Lot.Status.REJECTED: Stand.REJECTED,
        Lot.Status.DISCARDED: Stand.DISCARDED,
    }
    if lot.status in by_status:
        return by_status[Lot.Status(lot.status)]
    return Stand.USED_UP if lot.is_empty else None


def _stand_by_lots_behind(part: Part) -> Stand | None:
    is_held = any(lot.status is LotStatus.ON_HOLD for lot in part.behind)
    return Stand.MADE_OF_HELD if is_held else None


def _stand_by_date(ends_at: datetime | None, now: datetime, *, is_dated: bool) -> Stand:
    if ends_at is not None and ends_at < now:
        return Stand.PAST
    if not is_dated:
        return Stand.UNDATED
    if ends_at is not None and ends_at - now <= SOON:
        return Stand.ENDS_SOON
    return Stand.IN_DATE


def _is_frozen(part: Part) -> bool:
    return any(span.thawed_on is None for span in part.frozen)
