"""What a keg or line held before, and how it was cleaned since."""

from datetime import datetime

from django.db.models import Exists, F, FilteredRelation, Q, QuerySet

from kegsafe.cleaning.models import CleaningRecord
from kegsafe.equipment.models import Keg, Line, Service, Use
from kegsafe.equipment.queries import AS_COUNTED
from kegsafe.rules.facts import EquipmentHistory
from kegsafe.venues.models import Venue

UNVERIFIED = CleaningRecord.Verification.NONE


def history_of(
    *, keg: Keg | None = None, line: Line | None = None, before: datetime | None = None
) -> EquipmentHistory:
    """Return what a keg or line held last, its last clean, and what is left in it: two queries.

    `before` leaves out uses and cleans from that moment on: what the item
    brought to the drink that went in then. The memory of the last use is
    enough, because a use keeps what earlier drinks had left when it began.
    """
    if (keg is None) == (line is None):
        raise ValueError("a history is of one keg or of one line")
    item = keg or line
    uses, cleans = item.uses.all(), item.cleaning_records.all()
    if before is not None:
        uses, cleans = uses.filter(began_at__lt=before), cleans.filter(cleaned_at__lt=before)
    last = uses.order_by("-began_at").first()
    clean = cleans.annotate(removed=Exists(_removing(cleans, last))).order_by("-cleaned_at").first()
    return EquipmentHistory(
        name=str(item),
        previous_drink=last.drink if last else None,
        previous_use_ended_at=last.ended_at if last else None,
        cleaned_at=clean.cleaned_at if clean else None,
        residue=_residue(last, is_removed=clean is not None and clean.removed),
    )


def cleaning_log(
    venue: Venue, *, keg: int | None = None, line: int | None = None, query: str = ""
) -> QuerySet[CleaningRecord]:
    """Return a venue's cleaning records, newest first, with their kegs and lines."""
    log = CleaningRecord.objects.filter(venue=venue).select_related("keg", "line")
    if keg is not None:
        log = log.filter(keg=keg)
    if line is not None:
        log = log.filter(line=line)
    if query:
        log = log.filter(
            Q(method__icontains=query)
            | Q(recorded_by__icontains=query)
            | Q(keg__name__icontains=query)
            | Q(line__name__icontains=query)
        )
    return log.order_by("-cleaned_at", "-pk")


def kegs_to_clean(venue: Venue) -> QuerySet[Keg]:
    """Return the kegs that are not scrapped, with `held_drink`: what still is in them."""
    return _with_drink(Keg.objects.filter(venue=venue))


def lines_to_clean(venue: Venue) -> QuerySet[Line]:
    """Return the lines that are not scrapped, with `held_drink`: what they still carry."""
    return _with_drink(Line.objects.filter(venue=venue))


def _with_drink(items: QuerySet) -> QuerySet:
    return (
        items.exclude(service=Service.SCRAPPED)
        .alias(held=FilteredRelation("uses", condition=Q(uses__ended_at=None)))
        .annotate(held_drink=F("held__drink"))
        .order_by(*AS_COUNTED)
    )


def _removing(cleans: QuerySet[CleaningRecord], last: Use | None) -> QuerySet[CleaningRecord]:
    """Return the verified allergen cleans since a use ended; none while it goes on."""
    if last is None or last.ended_at is None:
        return cleans.none()
    since = cleans.filter(cleaned_at__gte=last.ended_at, is_allergen_clean=True)
    return since.exclude(verification=UNVERIFIED)


def _residue(last: Use | None, *, is_removed: bool) -> frozenset[str]:
    if last is None or is_removed:
        return frozenset()
    return frozenset(last.carried_over) | frozenset(last.allergens)
