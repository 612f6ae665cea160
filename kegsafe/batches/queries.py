"""What stands behind a batch at any depth, and the lists of the batches room."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db import connection
from django.db.models import Count, F, FilteredRelation, Q, QuerySet

from kegsafe.batches.models import Batch, Draw, Fill, Preparation, Recipe, RecipeItem
from kegsafe.equipment.models import Keg, Service, Tap
from kegsafe.venues.models import Venue

FILL_PARTS = ("batch__recipe__assessment", "batch__venue", "keg", "use")

# Integers only, so that the answer needs no conversion on either database. UNION, not UNION
# ALL: a lot that several preparations drew from is walked once for each batch.
_BEHIND = """
WITH RECURSIVE behind(batch_id, lot_id) AS (
    SELECT batch_id, lot_id FROM batches_draw WHERE batch_id IN ({batches})
    UNION
    SELECT behind.batch_id, draw.lot_id FROM behind
    JOIN batches_preparation made ON made.lot_id = behind.lot_id
    JOIN batches_draw draw ON draw.preparation_id = made.id
)
SELECT behind.batch_id, behind.lot_id, lot.ingredient_id
FROM behind JOIN stock_lot lot ON lot.id = behind.lot_id
UNION ALL
SELECT batch.id, NULL, item.ingredient_id
FROM batches_batch batch JOIN batches_recipeitem item ON item.recipe_id = batch.recipe_id
WHERE batch.id IN ({batches}) AND item.where_added = %s AND NOT item.is_removed
"""


@dataclass(frozen=True, slots=True)
class Behind:
    """The keys of what is behind one batch."""

    lots: frozenset[int]
    ingredients: frozenset[int]
    glass_ingredients: frozenset[int]


def behind_batches(batches: Iterable[int]) -> Mapping[int, Behind]:
    """Return the lots and ingredients behind each batch, at any depth: one query."""
    keys = sorted(set(batches))
    if not keys:
        return {}
    marks = ", ".join(["%s"] * len(keys))
    with connection.cursor() as cursor:
        cursor.execute(_BEHIND.format(batches=marks), [*keys, *keys, RecipeItem.Where.GLASS.value])
        rows = cursor.fetchall()
    found: dict[int, tuple[set[int], set[int], set[int]]] = defaultdict(
        lambda: (set(), set(), set())
    )
    for batch, lot, ingredient in rows:
        lots, in_keg, in_glass = found[batch]
        if lot is None:
            in_glass.add(ingredient)
        else:
            lots.add(lot)
            in_keg.add(ingredient)
    return {batch: Behind(*map(frozenset, found[batch])) for batch in keys}


# Every lot behind a lot, at any depth, and every lot and batch that a lot went into.
_BEHIND_LOTS = """
WITH RECURSIVE behind(of_lot, lot_id) AS (
    SELECT made.lot_id, draw.lot_id FROM batches_preparation made
    JOIN batches_draw draw ON draw.preparation_id = made.id
    WHERE made.lot_id IN ({lots})
    UNION
    SELECT behind.of_lot, draw.lot_id FROM behind
    JOIN batches_preparation made ON made.lot_id = behind.lot_id
    JOIN batches_draw draw ON draw.preparation_id = made.id
)
SELECT of_lot, lot_id FROM behind
"""


def behind_lots(lots: Iterable[int]) -> Mapping[int, frozenset[int]]:
    """Return the lots behind each lot, at any depth, itself not among them: one query."""
    keys = sorted(set(lots))
    if not keys:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(_BEHIND_LOTS.format(lots=", ".join(["%s"] * len(keys))), keys)
        rows = cursor.fetchall()
    found: dict[int, set[int]] = {key: set() for key in keys}
    for of_lot, lot in rows:
        found[of_lot].add(lot)
    return {key: frozenset(behind) for key, behind in found.items()}


# Lists and pages


def recipes(venue: Venue, *, query: str = "") -> QuerySet[Recipe]:
    """Return a venue's recipes, those in use first, with `item_count`."""
    counted = Count("items", filter=Q(items__is_removed=False))
    found = Recipe.objects.filter(venue=venue).annotate(item_count=counted)
    if query:
        found = found.filter(name__icontains=query)
    return found.order_by("-is_active", "name")


def preparations(venue: Venue, *, query: str = "") -> QuerySet[Preparation]:
    """Return a venue's preparations, newest first, with the lot each yielded."""
    found = Preparation.objects.filter(venue=venue).select_related("lot__ingredient", "lot__place")
    if query:
        found = found.filter(
            Q(lot__ingredient__name__icontains=query)
            | Q(lot__code__icontains=query)
            | Q(made_by__icontains=query)
        )
    return found.order_by("-began_at", "-pk")


def batches(venue: Venue, *, query: str = "") -> QuerySet[Batch]:
    """Return a venue's batches, newest first, with `kegs_open`: how many kegs still hold it."""
    counted = Count("fills", filter=Q(fills__state__in=Fill.OPEN_STATES))
    found = Batch.objects.filter(venue=venue).select_related("recipe").annotate(kegs_open=counted)
    if query:
        found = found.filter(
            Q(recipe__name__icontains=query)
            | Q(code__icontains=query)
            | Q(made_by__icontains=query)
        )
    return found.order_by("-made_at", "-pk")


def fills(venue: Venue, *, query: str = "") -> QuerySet[Fill]:
    """Return a venue's fills, newest first, with `tap_name` where one is on tap."""
    found = (
        Fill.objects.filter(batch__venue=venue)
        .select_related("batch__recipe", "keg")
        .alias(open_tapping=FilteredRelation("tappings", condition=Q(tappings__ended_at=None)))
        .annotate(tap_name=F("open_tapping__tap__name"))
    )
    if query:
        found = found.filter(
            Q(batch__recipe__name__icontains=query)
            | Q(batch__code__icontains=query)
            | Q(keg__name__icontains=query)
            | Q(tap_name__icontains=query)
        )
    return found.order_by("-filled_at", "-pk")


def draws_into(into: Batch | Preparation) -> QuerySet[Draw]:
    """Return what was drawn for a batch or preparation, with lot, ingredient and its maker."""
    return into.draws.select_related("lot__ingredient", "lot__preparation").order_by("pk")


def kegs_with_drink(venue: Venue) -> QuerySet[Keg]:
    """Return the kegs that are not scrapped, with `held_drink`: what is in them now."""
    return (
        Keg.objects.filter(venue=venue)
        .exclude(service=Service.SCRAPPED)
        .alias(held=FilteredRelation("uses", condition=Q(uses__ended_at=None)))
        .annotate(held_drink=F("held__drink"))
        .order_by("name")
    )


def kegs_to_fill(venue: Venue) -> QuerySet[Keg]:
    """Return the kegs in service that hold nothing and carry a rating."""
    return kegs_with_drink(venue).filter(
        held_drink=None, service=Service.IN_USE, rated_gauge_pa__isnull=False
    )


def taps_with_drink(venue: Venue) -> QuerySet[Tap]:
    """Return the taps in use with their lines, and `carried_drink`: what is on the line now."""
    return (
        Tap.objects.filter(venue=venue, is_active=True)
        .select_related("line")
        .alias(carried=FilteredRelation("line__uses", condition=Q(line__uses__ended_at=None)))
        .annotate(carried_drink=F("carried__drink"))
        .order_by("name")
    )


def free_taps(venue: Venue) -> QuerySet[Tap]:
    """Return the taps whose lines are in service and carry nothing."""
    return taps_with_drink(venue).filter(carried_drink=None, line__service=Service.IN_USE)
