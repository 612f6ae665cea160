"""What stands behind a batch: every lot at any depth, and what is added in its glass."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db import connection

from kegsafe.batches.models import RecipeItem

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
