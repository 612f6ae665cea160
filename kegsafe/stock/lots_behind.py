"""What a lot was made of, at any depth.

Which lot was drawn into which preparation is written by the room above, which is
named here by its tables alone, as a relation is by its name.
"""

from collections.abc import Iterable, Mapping

from django.db import connection

# Integers only, so that the answer needs no conversion on either database. UNION, not UNION
# ALL: a lot that several preparations drew from is walked once for each lot.
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
