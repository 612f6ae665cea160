"""What was read where: the last temperature of each place, and the limit it is held against."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import OuterRef, QuerySet, Subquery

from kegsafe.cold_chain.models import Reading
from kegsafe.equipment.models import Place
from kegsafe.rules.codes import MissingRule
from kegsafe.rules.limits import EffectiveLimit, effective_limit
from kegsafe.rules.limits import LocalLimit as LocalLimitFact
from kegsafe.venues.models import LocalLimit, Venue

COLD_RULE = "cold_holding.maximum"
COLD_KINDS = (
    Place.Kind.WALK_IN,
    Place.Kind.FRIDGE,
    Place.Kind.KEG_COOLER,
    Place.Kind.FREEZER,
)


@dataclass(frozen=True, slots=True)
class ColdLimits:
    """The chill limits of a venue: its code's by day, and its own."""

    venue: Venue
    own: tuple[LocalLimitFact, ...]

    def on(self, day: date) -> EffectiveLimit | None:
        """Return the limit that governs on a day; None where nobody has set one."""
        try:
            return effective_limit(self.venue.code, COLD_RULE, day, self.own)
        except MissingRule:
            return None

    def silence(self, day: date) -> str:
        """Return the sentence that says why there is no limit; empty where there is one."""
        try:
            effective_limit(self.venue.code, COLD_RULE, day, self.own)
        except MissingRule as missing:
            return str(missing)
        return ""

    def exceeded_by(
        self, place: Place, temperature_degc: Decimal | None, at: datetime | None
    ) -> EffectiveLimit | None:
        """Return the limit that a reading in a chilled place is above, judged by its own day."""
        if temperature_degc is None or at is None or not place.is_chilled:
            return None
        limit = self.on(self.venue.local(at).date())
        return limit if limit and temperature_degc > limit.value else None


def cold_places(venue: Venue) -> QuerySet[Place]:
    """Return the places of the temperature round with `last_degc`, `last_at`, `last_by`.

    The last reading of each comes in the same query.
    """
    newest = Reading.objects.filter(place=OuterRef("pk")).order_by("-read_at", "-pk")
    return (
        Place.objects.filter(venue=venue, kind__in=COLD_KINDS, is_active=True)
        .annotate(
            last_degc=Subquery(newest.values("temperature_degc")[:1]),
            last_at=Subquery(newest.values("read_at")[:1]),
            last_by=Subquery(newest.values("recorded_by")[:1]),
        )
        .order_by("kind", "name")
    )


def readings(venue: Venue, *, place: int | None = None, query: str = "") -> QuerySet[Reading]:
    """Return a venue's readings, newest first, with their places."""
    found = Reading.objects.filter(place__venue=venue).select_related("place")
    if place is not None:
        found = found.filter(place=place)
    if query:
        found = found.filter(recorded_by__icontains=query) | found.filter(note__icontains=query)
    return found.order_by("-read_at", "-pk")


def cold_limits(venue: Venue) -> ColdLimits:
    """Return the chill limits of a venue: one query, for its own."""
    own = LocalLimit.objects.filter(venue=venue, rule=COLD_RULE, withdrawn_at=None)
    return ColdLimits(venue, tuple(limit.as_fact() for limit in own))


def places_read(venue: Venue) -> QuerySet[Place]:
    """Return the places of the round, closed ones too: their readings stay."""
    return Place.objects.filter(venue=venue, kind__in=COLD_KINDS).order_by("name")
