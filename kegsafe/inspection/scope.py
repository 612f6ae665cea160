"""What a pack is about: one venue, a stretch of whole days, and the record as it stood."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from kegsafe.cold_chain.queries import places_read
from kegsafe.cold_chain.queries.standing import PlaceStanding, standings
from kegsafe.ledger.models import Chain
from kegsafe.pour.queries import KegView, open_keg_views
from kegsafe.pressure.audit import Audit, audit_of
from kegsafe.rules.facts import House
from kegsafe.rules.moments import at_moment, on_day
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.stock.facts import house
from kegsafe.venues.models import Venue


@dataclass(frozen=True)
class Scope:
    """What is asked of every section.

    first, last : days of the venue, both of them in it
    made_at : the moment of every verdict; no section asks a clock
    made_by : the name of the person
    chain : the ledger's head at that moment
    """

    venue: Venue
    first: date
    last: date
    made_at: datetime
    made_by: str
    chain: Chain

    @cached_property
    def zone(self) -> ZoneInfo:
        return self.venue.zone

    @cached_property
    def from_at(self) -> datetime:
        """Return the beginning of the first day."""
        return datetime.combine(self.first, time(), self.zone)

    @cached_property
    def until_at(self) -> datetime:
        """Return the end of the last day, or now where the last day goes on."""
        end = datetime.combine(self.last + timedelta(days=1), time(), self.zone)
        return min(end, self.made_at)

    @property
    def period(self) -> str:
        """Return the days in words."""
        if self.first == self.last:
            return on_day(self.first)
        return f"{on_day(self.first)} to {on_day(self.last)}"

    @cached_property
    def house(self) -> House:
        """Return the venue as the rules read it."""
        return house(self.venue)

    @cached_property
    def cold(self) -> list[PlaceStanding]:
        """Return every place of the temperature round over the period, closed ones too."""
        places = list(places_read(self.venue))
        if self.until_at <= self.from_at:
            return []
        return standings(places, self.house, self.from_at, self.until_at, self.made_at)

    @cached_property
    def pouring(self) -> list[tuple[KegView, PourVerdict]]:
        """Return every keg that holds a drink, with the verdict of the pour check."""
        return [(view, pour_check(view.facts, self.made_at)) for view in open_keg_views(self.venue)]

    @cached_property
    def audit(self) -> Audit:
        """Return the owner's audit of pressure equipment on the day the pack is made."""
        return audit_of(self.venue, self.made_at.astimezone(self.zone).date())

    def moment(self, moment: datetime | None) -> str:
        """Return a moment in the venue's own time, in words."""
        return "not recorded" if moment is None else at_moment(moment, self.zone)

    def short(self, moment: datetime | None) -> str:
        """Return a moment as a column of a table holds it: 2026-11-24 22:59 EST."""
        if moment is None:
            return "not recorded"
        return f"{moment.astimezone(self.zone):%Y-%m-%d %H:%M %Z}"
