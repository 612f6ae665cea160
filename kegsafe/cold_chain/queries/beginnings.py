"""From when on a place must be looked at, so that what was warm before a stretch is seen whole."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from django.db import connection

from kegsafe.cold_chain.models import LoggedReading
from kegsafe.rules.cold.held_limits import Held

# A stay above the limit is followed back so far and no further: it keeps a page from reading a
# year of a place that was never cold. What began before asks for a new word of what is done.
FOLLOWED_BACK_S = 92 * 86_400

_READINGS = LoggedReading._meta.db_table
# The newest good reading lies just before the stretch where the place was cold, so the index is
# walked back over the warm readings alone.
_BEFORE = f"""
    SELECT each.at_s, each.centi_degc FROM {_READINGS} AS each
    WHERE each.place_id = held.place_id AND each.at_s < held.early_s
    ORDER BY each.at_s DESC LIMIT 1
"""  # noqa: S608 - names of our own tables
_SQL = f"""
    SELECT place_id,
        COALESCE(MAX(good_s), MAX(good_before_s), MIN(first_s), MAX(before_s))
    FROM (
        SELECT held.place_id,
            (SELECT each.at_s FROM {_READINGS} AS each
                WHERE each.place_id = held.place_id AND each.centi_degc <= held.good_up_to
                    AND each.at_s BETWEEN held.from_s AND held.until_s
                ORDER BY each.at_s DESC LIMIT 1) AS good_s,
            (SELECT MIN(each.at_s) FROM {_READINGS} AS each
                WHERE each.place_id = held.place_id
                    AND each.at_s BETWEEN held.from_s AND held.until_s) AS first_s,
            (SELECT at_s FROM ({_BEFORE}) AS newest) AS before_s,
            (SELECT at_s FROM ({_BEFORE}) AS newest
                WHERE centi_degc <= held.good_up_to) AS good_before_s
        FROM held
    ) AS found GROUP BY place_id
"""  # noqa: S608


class Edge(NamedTuple):
    """Where a stretch of a place begins, and what the place was held to up to there, in order."""

    place: int
    at_s: int
    held: Sequence[Held]


def followed_back(from_s: int) -> int:
    """Return how far back a stay above the limit is followed: seconds of the epoch."""
    return max(from_s - FOLLOWED_BACK_S, min(from_s, 0))


def beginnings(edges: Iterable[Edge]) -> dict[int, int | None]:
    """Return the last good reading of each place at or before its edge, in seconds of the epoch.

    It lies in the time the place was held to, or is the one reading before that time. Without a
    good one, it is the first reading of that time, or the one before where nothing was read in it.
    None where the place had not been read by then. One query for all.
    """
    asked = [each for edge in edges for each in _stretches(edge)]
    if not asked:
        return {}
    values = ", ".join(["(%s, %s, %s, %s, %s)"] * len(asked))
    names = "place_id, from_s, until_s, good_up_to, early_s"
    with connection.cursor() as cursor:
        cursor.execute(
            f"WITH held ({names}) AS (VALUES {values}) {_SQL}",
            [value for each in asked for value in each],
        )
        return dict(cursor.fetchall())


def _stretches(edge: Edge) -> Iterator[tuple[int, int, int, int, int | None]]:
    """Yield each stretch of one limit up to the edge: place, its ends, its warmest good reading.

    The first one comes with where it begins, before which one more reading counts.
    """
    begun = [each for each in edge.held if each.from_s <= edge.at_s]
    ends = [*(each.from_s - 1 for each in begun[1:]), edge.at_s]
    for number, (each, until_s) in enumerate(zip(begun, ends, strict=True)):
        early_s = None if number else each.from_s
        yield edge.place, each.from_s, until_s, each.good_up_to, early_s
