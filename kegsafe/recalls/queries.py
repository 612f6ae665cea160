"""What a recall is about, and how far it has come."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, QuerySet

from kegsafe.batches.models import Fill
from kegsafe.recalls.models import Recall, RecallItem
from kegsafe.rules.recall import Progress, Reach, progress
from kegsafe.stock.models import Lot
from kegsafe.stock.queries import lots as lots_found
from kegsafe.tracing.queries import fills_from, lots_from
from kegsafe.venues.models import Venue

MOST_LOTS_OFFERED = 40

_REACH_OF_FILL = {
    Fill.State.IN_KEG: Reach.IN_KEG,
    Fill.State.ON_HOLD: Reach.IN_KEG,
    Fill.State.EMPTIED: Reach.SERVED,
    Fill.State.DISCARDED: Reach.DISCARDED,
}


@dataclass(frozen=True, slots=True)
class Affected:
    """One lot or fill that certain lots went into. `record` is the lot or the fill."""

    record: Lot | Fill
    name: str
    where: str
    measure: str
    amount: Decimal
    reach: Reach
    is_on_hold: bool


def affected_by(venue: Venue, lot_ids: Iterable[int]) -> list[Affected]:
    """Return every lot in stock and every fill that the lots went into: four queries.

    Lots come first, then kegs; a lot with nothing left of it is no piece of its own, as all of
    it is in what was made from it.
    """
    keys = list(lot_ids)
    in_stock = Lot.objects.filter(
        pk__in=lots_from(venue, keys),
        status__in=(Lot.Status.ACCEPTED, Lot.Status.ON_HOLD),
        amount_left__gt=0,
    ).select_related("ingredient", "place")
    reached = fills_from(venue, keys)
    fills = Fill.objects.select_related("keg", "batch__recipe").in_bulk(
        [each.fill_id for each in reached]
    )
    lots = [
        Affected(
            record=lot,
            name=str(lot),
            where=str(lot.place or ""),
            measure=lot.measure,
            amount=lot.amount_left,
            reach=Reach.IN_STOCK,
            is_on_hold=lot.status == Lot.Status.ON_HOLD,
        )
        for lot in in_stock
    ]
    kegs = [
        Affected(
            record=fills[each.fill_id],
            name=f"{fills[each.fill_id].keg}: {fills[each.fill_id].batch}",
            where=", ".join(
                [each.place, *(f"tap {on.tap}" for on in each.poured if on.until is None)]
            ).strip(", "),
            measure="ml",
            amount=each.volume_ml,
            reach=_REACH_OF_FILL[each.state],
            is_on_hold=each.state == Fill.State.ON_HOLD,
        )
        for each in reached
    ]
    return lots + kegs


def lots_to_start_from(venue: Venue, query: str) -> QuerySet[Lot]:
    """Return the lots that fit the words looked for, newest first: 40 at most."""
    found = lots_found(venue, query=query) if query else Lot.objects.none()
    return found.exclude(status=Lot.Status.REJECTED)[:MOST_LOTS_OFFERED]


def recalls(venue: Venue) -> QuerySet[Recall]:
    """Return a venue's recalls and drills, newest first, with what waits in each."""
    counted = Recall.objects.filter(venue=venue).annotate(
        waiting=Count("items", filter=Q(items__outcome=RecallItem.OutcomeOf.WAITING)),
        pieces=Count("items"),
    )
    return counted.order_by("-began_at", "-pk")


def items_of(recall: Recall) -> list[RecallItem]:
    """Return the pieces of a recall with what their names need: one query."""
    return list(
        recall.items.select_related(
            "lot__ingredient",
            "lot__place",
            "lot__delivery__supplier",
            "fill__keg",
            "fill__batch__recipe",
        )
    )


def with_places(recall: Recall, items: Iterable[RecallItem]) -> list[tuple[RecallItem, str]]:
    """Return each piece with where it stands or pours now, "" where that is not recorded."""
    where = {each.record: each.where for each in affected_by(recall.venue, recall.lots)}
    return [(item, where.get(item.lot or item.fill, "")) for item in items]


def progress_of(recall: Recall, items: Iterable[RecallItem]) -> Progress:
    """Return how far a recall has come, from its pieces."""
    return progress((item.as_piece() for item in items), recall.began_at)


def starting_lots(recall: Recall) -> QuerySet[Lot]:
    """Return the lots a recall started from, with ingredient and supplier."""
    return Lot.objects.filter(venue=recall.venue_id, pk__in=recall.lots).select_related(
        "ingredient", "delivery__supplier"
    )
