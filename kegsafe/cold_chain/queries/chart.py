"""A place's temperatures thinned for a drawing: the coldest and warmest of each piece are kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.db import connection

from kegsafe.cold_chain.models import HourOfReadings, LoggedReading

_READINGS = LoggedReading._meta.db_table
_HOURS = HourOfReadings._meta.db_table
_MOST_PIECES = 380
_DAY_S = 86_400

# Up to a day the readings themselves are thinned; beyond it, their hours.
_FROM_READINGS = f"""
    SELECT MIN(at_s), MAX(at_s), MIN(centi_degc), MAX(centi_degc), COUNT(*) FROM {_READINGS}
    WHERE place_id = %s AND at_s BETWEEN %s AND %s
    GROUP BY (at_s - %s) / %s ORDER BY 1
"""  # noqa: S608 - names of our own tables
_FROM_HOURS = f"""
    SELECT MIN(first_s), MAX(last_s), MIN(coldest), MAX(warmest), SUM(readings) FROM {_HOURS}
    WHERE place_id = %s AND hour BETWEEN %s AND %s
    GROUP BY (hour - %s) / %s ORDER BY 1
"""  # noqa: S608


class Piece(NamedTuple):
    """A short stretch of readings: its ends in seconds of the epoch, hundredths of a degC."""

    first_s: int
    last_s: int
    coldest: int
    warmest: int
    readings: int


@dataclass(frozen=True, slots=True)
class Thinned:
    """A stretch of time in pieces, none of them empty."""

    from_s: int
    until_s: int
    piece_s: int
    pieces: Sequence[Piece]

    def runs(self, longest_gap: int) -> list[list[Piece]]:
        """Return the pieces in runs without a gap between; a gap is drawn as a gap."""
        found: list[list[Piece]] = []
        for piece in self.pieces:
            if found and piece.first_s - found[-1][-1].last_s <= longest_gap:
                found[-1].append(piece)
            else:
                found.append([piece])
        return found


def thinned(place_id: int, from_s: int, until_s: int) -> Thinned:
    """Return a stretch in at most a few hundred pieces: one query."""
    span = until_s - from_s
    if span <= _DAY_S + 3600:  # a day may have 25 hours
        piece_s = max(1, -(-span // _MOST_PIECES))
        given = [place_id, from_s, until_s, from_s, piece_s]
        return Thinned(from_s, until_s, piece_s, _pieces(_FROM_READINGS, given))
    hours = max(1, -(-span // 3600 // _MOST_PIECES))
    first = from_s // 3600
    given = [place_id, first, until_s // 3600, first, hours]
    return Thinned(from_s, until_s, hours * 3600, _pieces(_FROM_HOURS, given))


def _pieces(sql: str, given: list[int]) -> list[Piece]:
    with connection.cursor() as cursor:
        cursor.execute(sql, given)
        return [Piece(*map(int, row)) for row in cursor.fetchall()]
