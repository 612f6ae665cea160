"""Where lots went and what a fill came from: one recursive query each, within one venue."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db import connection
from django.db.models import FilteredRelation, Q
from django.db.models.expressions import RawSQL

from kegsafe.batches.models import Fill
from kegsafe.stock.lots_behind import walk_back
from kegsafe.venues.models import Venue

# UNION, not UNION ALL: what two ways lead to is walked once.
_REACHED = """
WITH RECURSIVE reached(lot_id) AS (
    SELECT id FROM stock_lot WHERE venue_id = %s AND id IN ({lots})
    UNION
    SELECT made.lot_id FROM reached
    JOIN batches_draw draw ON draw.lot_id = reached.lot_id
    JOIN batches_preparation made ON made.id = draw.preparation_id AND made.venue_id = %s
)
"""

_DRAWN_FOR_FILL = """
SELECT batch.id, draw.lot_id FROM batches_fill fill
JOIN batches_batch batch ON batch.id = fill.batch_id AND batch.venue_id = %s
JOIN batches_draw draw ON draw.batch_id = batch.id
WHERE fill.id = %s
"""
_BEHIND_FILL = f"""
WITH RECURSIVE {walk_back("behind", "batch_id", start=_DRAWN_FOR_FILL)}
SELECT lot_id FROM behind
"""  # noqa: S608


@dataclass(frozen=True, slots=True)
class Poured:
    """A fill on a tap, from then to then; `until` is None while it is on."""

    tap: str
    since: datetime
    until: datetime | None
    line: str
    line_id: int


@dataclass(frozen=True, slots=True)
class FillReached:
    """A fill that some lot went into: which keg, what became of it, where and when it poured.

    `place` is where the keg stands now while the fill is in it, and "" where that is not
    recorded or the keg holds it no longer. `state_at` and `state_reason` say when and why it
    was held, emptied or discarded.
    """

    fill_id: int
    keg_id: int
    keg: str
    batch_id: int
    batch: str
    drink: str
    filled_at: datetime
    volume_ml: Decimal
    state: Fill.State
    state_at: datetime | None
    state_reason: str
    place: str
    poured: tuple[Poured, ...]

    @property
    def is_open(self) -> bool:
        """Whether the keg still holds it."""
        return self.state in Fill.OPEN_STATES


def lots_from(venue: Venue, lot_ids: Iterable[int]) -> frozenset[int]:
    """Return the lots and every lot made from them at any depth, themselves among them.

    Lots of another venue, and keys of no lot, count for nothing.
    """
    keys = sorted(set(lot_ids))
    if not keys:
        return frozenset()
    sql, values = _reached(venue, keys)
    with connection.cursor() as cursor:
        cursor.execute(f"{sql} SELECT lot_id FROM reached", values)  # noqa: S608
        return frozenset(lot for (lot,) in cursor.fetchall())


def fills_from(venue: Venue, lot_ids: Iterable[int]) -> tuple[FillReached, ...]:
    """Return every fill that any of the lots reached, at first hand or further on, newest first."""
    keys = sorted(set(lot_ids))
    if not keys:
        return ()
    sql, values = _reached(venue, keys)
    of_batches = RawSQL(  # noqa: S611 (keys are parameters)
        f"{sql} SELECT draw.batch_id FROM batches_draw draw "  # noqa: S608
        "JOIN reached ON reached.lot_id = draw.lot_id WHERE draw.batch_id IS NOT NULL",
        values,
    )
    return _fills_reached(venue, Q(batch__in=of_batches))


def lots_behind_fill(venue: Venue, fill_id: int) -> frozenset[int]:
    """Return every lot that went into a fill, at any depth; none for another venue's fill."""
    with connection.cursor() as cursor:
        cursor.execute(_BEHIND_FILL, [venue.pk, fill_id])
        return frozenset(lot for (lot,) in cursor.fetchall())


def fill_reached(venue: Venue, fill_id: int) -> FillReached | None:
    """Return one fill of a venue as `fills_from` tells it; None for another venue's."""
    return next(iter(_fills_reached(venue, Q(pk=fill_id))), None)


_FILL_COLUMNS = (
    "pk",
    "keg_id",
    "keg__name",
    "batch_id",
    "batch__code",
    "batch__recipe__name",
    "filled_at",
    "volume_ml",
    "state",
    "state_at",
    "state_reason",
    "stands__place__name",
)
_TAP_COLUMNS = (
    *("tappings__tap__name", "tappings__began_at", "tappings__ended_at"),
    *("tappings__use__line__name", "tappings__use__line_id"),
)


def _fills_reached(venue: Venue, wanted: Q) -> tuple[FillReached, ...]:
    """One row for each time on a tap, so that one query tells it all."""
    rows = (
        Fill.objects.filter(wanted, batch__venue=venue)
        .alias(
            stands=FilteredRelation("keg__placements", condition=Q(keg__placements__ended_at=None))
        )
        .order_by("-filled_at", "-pk", "tappings__began_at")
        .values_list(*_FILL_COLUMNS, *_TAP_COLUMNS)
    )
    return tuple(_fill_reached(list(of_fill)) for _, of_fill in groupby(rows, key=itemgetter(0)))


def _fill_reached(rows: list[tuple[Any, ...]]) -> FillReached:
    *fill, state, state_at, state_reason, place = rows[0][: len(_FILL_COLUMNS)]
    is_open = state in Fill.OPEN_STATES
    on_taps = (row[len(_FILL_COLUMNS) :] for row in rows)
    return FillReached(
        *fill,
        state=Fill.State(state),
        state_at=state_at,
        state_reason=state_reason,
        place=place or "" if is_open else "",
        poured=tuple(Poured(*each) for each in on_taps if each[0] is not None),
    )


def _reached(venue: Venue, keys: list[int]) -> tuple[str, list[int]]:
    marks = ", ".join(["%s"] * len(keys))
    return _REACHED.format(lots=marks), [venue.pk, *keys, venue.pk]
