"""What is known about kegs and lines: what they hold, where they stand, what they held before."""

from django.db import models
from django.db.models import F, FilteredRelation, Q, QuerySet
from django.db.models.functions import Length

from kegsafe.equipment.models import Keg, Line, Place, Placement, Tap, Use
from kegsafe.venues.models import Venue

# K2 comes before K10.
AS_COUNTED = (Length("name"), "name")
_SHOWN_BEFORE = 20


def kegs(venue: Venue, *, query: str = "") -> QuerySet[Keg]:
    """Return a venue's kegs with `holds`, `holds_since` and `stands_in`, by one query.

    `query` is looked for in the name, the serial number, the drink and the place.
    """
    found = (
        Keg.objects.filter(venue=venue)
        .alias(
            held=FilteredRelation("uses", condition=Q(uses__ended_at=None)),
            placed=FilteredRelation("placements", condition=Q(placements__ended_at=None)),
        )
        .annotate(
            holds=F("held__drink"),
            holds_since=F("held__began_at"),
            stands_in=F("placed__place__name"),
        )
        .order_by(*AS_COUNTED)
    )
    if query:
        found = found.filter(
            Q(name__icontains=query)
            | Q(serial__icontains=query)
            | Q(holds__icontains=query)
            | Q(stands_in__icontains=query)
        )
    return found


def lines(venue: Venue, *, query: str = "") -> QuerySet[Line]:
    """Return a venue's lines with `carries` and `carries_since`."""
    found = (
        Line.objects.filter(venue=venue)
        .alias(held=FilteredRelation("uses", condition=Q(uses__ended_at=None)))
        .annotate(carries=F("held__drink"), carries_since=F("held__began_at"))
        .prefetch_related("taps")
        .order_by(*AS_COUNTED)
    )
    if query:
        found = found.filter(Q(name__icontains=query) | Q(carries__icontains=query))
    return found


def taps(venue: Venue, *, query: str = "") -> QuerySet[Tap]:
    """Return a venue's taps with their lines."""
    found = Tap.objects.filter(venue=venue).select_related("line").order_by(*AS_COUNTED)
    return found.filter(Q(name__icontains=query) | Q(line__name__icontains=query))


def places(venue: Venue, *, query: str = "") -> QuerySet[Place]:
    """Return a venue's places."""
    return Place.objects.filter(venue=venue, name__icontains=query).order_by("name")


def places_to_stand(venue: Venue) -> QuerySet[Place]:
    """Return the places a keg may be moved to, chilled ones among them first by name."""
    return Place.objects.filter(venue=venue, is_active=True).order_by("name")


def past_uses(item: Keg | Line) -> QuerySet[Use]:
    """Return the newest uses of a keg or line, the present one first."""
    return item.uses.order_by("-began_at")[:_SHOWN_BEFORE]


def past_placements(keg: Keg) -> QuerySet[Placement]:
    """Return where a keg stood, newest first."""
    return keg.placements.select_related("place").order_by("-began_at")[:_SHOWN_BEFORE]


def past_cleans(item: Keg | Line) -> QuerySet[models.Model]:
    """Return the newest cleans of a keg or line.

    Cleaning stands above equipment, so the records are reached through the item.
    """
    return item.cleaning_records.order_by("-cleaned_at")[:_SHOWN_BEFORE]
