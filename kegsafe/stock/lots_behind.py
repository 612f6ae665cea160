"""What a lot was made of, and what was made of it, at any depth.

Which lot was drawn into which preparation is written by the room above, which is
named here by its tables alone, as a relation is by its name.
"""

from collections.abc import Iterable, Mapping

from django.db import connection

# One step from a lot to those it was made of. Integers only, so that the answer needs no
# conversion on either database. UNION, not UNION ALL: a lot that several preparations drew
# from is walked once for each thing asked about.
_WALK_BACK = """
{name}({asked_about}, lot_id) AS (
    {start}
    UNION
    SELECT {kept}, draw.lot_id FROM {name}
    JOIN batches_preparation made ON made.lot_id = {name}.lot_id
    JOIN batches_draw draw ON draw.preparation_id = made.id
)
"""

_FIRST_STEP = """
SELECT made.lot_id, draw.lot_id FROM batches_preparation made
JOIN batches_draw draw ON draw.preparation_id = made.id
WHERE made.lot_id IN ({lots})
"""


def walk_back(name: str, *asked_about: str, start: str) -> str:
    """Return a recursive table of the lots behind those that `start` selects, themselves with it.

    `asked_about` names the columns that stay beside each lot on the way, such as the batch whose
    lots they are; `start` selects those and the lots to begin with.
    """
    return _WALK_BACK.format(
        name=name,
        asked_about=", ".join(asked_about),
        kept=", ".join(f"{name}.{column}" for column in asked_about),
        start=start.strip(),
    )


def behind_lots(lots: Iterable[int]) -> Mapping[int, frozenset[int]]:
    """Return the lots behind each lot, at any depth, itself not among them: one query."""
    keys = sorted(set(lots))
    if not keys:
        return {}
    first = _FIRST_STEP.format(lots=", ".join(["%s"] * len(keys)))
    walk = walk_back("behind", "of_lot", start=first)
    with connection.cursor() as cursor:
        cursor.execute(f"WITH RECURSIVE {walk} SELECT of_lot, lot_id FROM behind", keys)  # noqa: S608
        rows = cursor.fetchall()
    found: dict[int, set[int]] = {key: set() for key in keys}
    for of_lot, lot in rows:
        found[of_lot].add(lot)
    return {key: frozenset(behind) for key, behind in found.items()}
