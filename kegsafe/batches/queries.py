"""What stands behind a batch at any depth, and the lists of the batches room."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from django.db import connection
from django.db.models import Count, F, FilteredRelation, Q, QuerySet

from kegsafe.batches.models import Batch, Draw, Fill, Preparation, Recipe, RecipeItem
from kegsafe.equipment.models import Keg, Service, Tap
from kegsafe.equipment.queries import AS_COUNTED
from kegsafe.stock.lots_behind import walk_back
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue

FILL_PARTS = ("batch__recipe__assessment", "batch__venue", "keg", "use")

_DRAWN_INTO_BATCHES = "SELECT batch_id, lot_id FROM batches_draw WHERE batch_id IN ({batches})"

_IN_STOCK_BEHIND_GLASS = """
SELECT glass.batch_id, in_stock.id, draw.lot_id FROM glass
JOIN stock_lot in_stock ON in_stock.ingredient_id = glass.ingredient_id
    AND in_stock.status = %s AND in_stock.amount_left > 0
JOIN batches_preparation made ON made.lot_id = in_stock.id
JOIN batches_draw draw ON draw.preparation_id = made.id
"""

_BEHIND = f"""
WITH RECURSIVE
{walk_back("behind", "batch_id", start=_DRAWN_INTO_BATCHES)},
glass(batch_id, ingredient_id) AS (
    SELECT batch.id, item.ingredient_id
    FROM batches_batch batch JOIN batches_recipeitem item ON item.recipe_id = batch.recipe_id
    WHERE batch.id IN ({{batches}}) AND item.where_added = %s AND NOT item.is_removed
),
{walk_back("behind_glass", "batch_id", "in_stock_id", start=_IN_STOCK_BEHIND_GLASS)}
SELECT behind.batch_id, CAST(NULL AS bigint), behind.lot_id, lot.ingredient_id
FROM behind JOIN stock_lot lot ON lot.id = behind.lot_id
UNION ALL
SELECT glass.batch_id, CAST(NULL AS bigint), CAST(NULL AS bigint), glass.ingredient_id FROM glass
UNION ALL
SELECT behind_glass.batch_id, behind_glass.in_stock_id, behind_glass.lot_id, lot.ingredient_id
FROM behind_glass JOIN stock_lot lot ON lot.id = behind_glass.lot_id
"""  # noqa: S608


@dataclass(frozen=True, slots=True)
class Behind:
    """The keys of what is behind one batch, and of what goes into its glass.

    `behind_glass` are the lots behind each lot in stock that was made in house
    for the glass; `ingredients_behind_glass` what those lots are of.
    """

    lots: frozenset[int]
    ingredients: frozenset[int]
    glass_ingredients: frozenset[int]
    behind_glass: Mapping[int, frozenset[int]]
    ingredients_behind_glass: frozenset[int]

    @property
    def served(self) -> frozenset[int]:
        """Return every ingredient of the drink as served, at any depth."""
        return self.ingredients | self.glass_ingredients | self.ingredients_behind_glass


def behind_batches(batches: Iterable[int]) -> Mapping[int, Behind]:
    """Return the lots and ingredients behind each batch, at any depth: one query."""
    keys = sorted(set(batches))
    if not keys:
        return {}
    sql = _BEHIND.format(batches=", ".join(["%s"] * len(keys)))
    values = [*keys, *keys, RecipeItem.Where.GLASS.value, Lot.Status.ACCEPTED.value]
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        rows = cursor.fetchall()
    by_batch: dict[int, list[_BehindRow]] = defaultdict(list)
    for batch, *row in rows:
        by_batch[batch].append(_BehindRow(*row))
    return {batch: _behind(by_batch[batch]) for batch in keys}


class _BehindRow(NamedTuple):
    """What is behind the drink; in its glass, when there is no lot; behind a lot for the glass."""

    in_stock: int | None
    lot: int | None
    ingredient: int


def _behind(rows: Iterable[_BehindRow]) -> Behind:
    lots, in_keg, in_glass, deeper = set(), set(), set(), set()
    behind_glass: dict[int, set[int]] = defaultdict(set)
    for row in rows:
        if row.lot is None:
            in_glass.add(row.ingredient)
        elif row.in_stock is None:
            lots.add(row.lot)
            in_keg.add(row.ingredient)
        else:
            behind_glass[row.in_stock].add(row.lot)
            deeper.add(row.ingredient)
    return Behind(
        lots=frozenset(lots),
        ingredients=frozenset(in_keg),
        glass_ingredients=frozenset(in_glass),
        behind_glass={lot: frozenset(others) for lot, others in behind_glass.items()},
        ingredients_behind_glass=frozenset(deeper),
    )


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
        .order_by(*AS_COUNTED)
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
        .order_by(*AS_COUNTED)
    )


def free_taps(venue: Venue) -> QuerySet[Tap]:
    """Return the taps whose lines are in service and carry nothing."""
    return taps_with_drink(venue).filter(carried_drink=None, line__service=Service.IN_USE)
