"""Putting readings into the column that is integrated, and keeping its hours in step.

Rows go straight to the driver: there are millions of them.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice, pairwise, repeat
from operator import sub

from django.db import connection

from kegsafe.cold_chain.models import HourOfReadings, LoggedReading
from kegsafe.equipment.models import Place

_READINGS = LoggedReading._meta.db_table
_HOURS = HourOfReadings._meta.db_table
_ASKED_AT_ONCE = 500  # values in one query
_HOURS_HELD = 100_000  # eleven years; beyond that the database counts them

_INSERT = f"""
    INSERT INTO {_READINGS} (place_id, at_s, centi_degc, source) VALUES (%s, %s, %s, %s)
    ON CONFLICT (place_id, at_s) DO NOTHING
"""  # noqa: S608 - names of our own tables
_WARM = f"UPDATE {_READINGS} SET centi_degc = %s, source = %s WHERE place_id = %s AND at_s = %s"  # noqa: S608
_REMOVE_HOURS = f"DELETE FROM {_HOURS} WHERE place_id = %s AND hour BETWEEN %s AND %s"  # noqa: S608
_COUNT_HOURS = f"""
    INSERT INTO {_HOURS} (place_id, hour, readings, coldest, warmest, first_s, first_centi_degc,
                          last_s, last_centi_degc, longest_step_s)
    SELECT each.place_id, each.hour, each.readings, each.coldest, each.warmest,
           each.first_s, early.centi_degc, each.last_s, late.centi_degc, each.longest_step_s
    FROM (
        SELECT place_id, hour, COUNT(*) AS readings, MIN(centi_degc) AS coldest,
               MAX(centi_degc) AS warmest, MIN(at_s) AS first_s, MAX(at_s) AS last_s,
               MAX(CASE WHEN before_s >= 3600 * hour THEN at_s - before_s ELSE 0 END)
                   AS longest_step_s
        FROM (
            SELECT place_id, at_s, centi_degc, at_s / 3600 AS hour,
                   LAG(at_s) OVER (ORDER BY at_s) AS before_s
            FROM {_READINGS} WHERE place_id = %s AND at_s BETWEEN %s AND %s
        ) AS stepped
        GROUP BY place_id, hour
    ) AS each
    JOIN {_READINGS} AS early ON early.place_id = each.place_id AND early.at_s = each.first_s
    JOIN {_READINGS} AS late ON late.place_id = each.place_id AND late.at_s = each.last_s
"""  # noqa: S608


_ADD_HOURS = f"""
    INSERT INTO {_HOURS} (place_id, hour, readings, coldest, warmest, first_s, first_centi_degc,
                          last_s, last_centi_degc, longest_step_s)
    VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)
"""  # noqa: S608

_HourRow = tuple[int, int, int, int, int, int, int, int]


@dataclass(slots=True)
class Put:
    """What became of readings: new ones, ones known already, and ones that said another value.

    `hours` are those seen whole in one piece; `recount` those that have to be counted again.
    """

    added: int = 0
    repeated: int = 0
    clashed: int = 0
    first_s: int | None = None
    last_s: int | None = None
    hours: dict[int, _HourRow] = field(default_factory=dict)
    recount: set[int] = field(default_factory=set)

    def saw(self, readings: Mapping[int, int]) -> None:
        """Widen the stretch of time that was written, and count its hours."""
        times = sorted(readings)
        self.first_s = times[0] if self.first_s is None else min(self.first_s, times[0])
        self.last_s = times[-1] if self.last_s is None else max(self.last_s, times[-1])
        for hour, row in _hours_of(times, list(map(readings.__getitem__, times))):
            if hour in self.hours or len(self.hours) >= _HOURS_HELD:
                self.recount.add(hour)
            else:
                self.hours[hour] = row

    def doubts_hours(self, readings: Mapping[int, int]) -> None:
        """Have the hours of these readings counted again: something was there before."""
        self.recount.update(at_s // 3600 for at_s in readings)


def _hours_of(times: Sequence[int], degrees: Sequence[int]) -> Iterator[tuple[int, _HourRow]]:
    """Yield each hour of readings in order of time with what it amounts to."""
    steps = list(map(sub, islice(times, 1, None), times))
    first = 0
    while first < len(times):
        hour = times[first] // 3600
        after = bisect_left(times, 3600 * hour + 3600, first)
        here = degrees[first:after]
        yield (
            hour,
            (
                len(here),
                min(here),
                max(here),
                times[first],
                here[0],
                times[after - 1],
                here[-1],
                max(steps[first : after - 1], default=0),
            ),
        )
        first = after


def take_place(place: Place) -> None:
    """Let one writer at a time into the log of a place: its hours are counted from all of it."""
    Place.objects.select_for_update().get(pk=place.pk)


def put_readings(place_id: int, readings: Mapping[int, int], source: int, so_far: Put) -> None:
    """Write readings (second of the epoch: hundredths of a degC) and count what became of them.

    The warmer of two values for one second is kept. `count_hours` must follow in the same
    transaction.
    """
    if not readings:
        return
    so_far.saw(readings)
    with connection.cursor() as cursor:
        rows = zip(
            repeat(place_id), readings.keys(), readings.values(), repeat(source), strict=False
        )
        cursor.executemany(_INSERT, list(rows))
        added = cursor.rowcount
    so_far.added += added
    if added < len(readings):
        so_far.doubts_hours(readings)
        differing = _clashes(place_id, readings, source)
        so_far.clashed += differing
        so_far.repeated += len(readings) - added - differing


def _clashes(place_id: int, readings: Mapping[int, int], source: int) -> int:
    """Settle the readings that differ from what is on record; return how many those are."""
    differing = 0
    warmer = []
    for at_s, kept in _on_record(place_id, readings):
        sent = readings[at_s]
        differing += sent != kept
        if sent > kept:
            warmer.append((sent, source, place_id, at_s))
    with connection.cursor() as cursor:
        cursor.executemany(_WARM, warmer)
    return differing


def _on_record(place_id: int, moments: Iterable[int]) -> Iterator[tuple[int, int]]:
    ordered = iter(sorted(moments))
    with connection.cursor() as cursor:
        while asked := tuple(islice(ordered, _ASKED_AT_ONCE)):
            blanks = ", ".join(["%s"] * len(asked))
            cursor.execute(
                f"SELECT at_s, centi_degc FROM {_READINGS} "  # noqa: S608
                f"WHERE place_id = %s AND at_s IN ({blanks})",
                [place_id, *asked],
            )
            yield from cursor.fetchall()


def write_hours(place_id: int, put: Put) -> None:
    """Write the hours of what was put: as they came, or counted again where more is in them."""
    if put.first_s is None or put.last_s is None:
        return
    first, last = put.first_s // 3600, put.last_s // 3600
    put.recount.update(_hours_on_record(place_id, first, last) & put.hours.keys())
    fresh = [(place_id, hour, *row) for hour, row in put.hours.items() if hour not in put.recount]
    with connection.cursor() as cursor:
        cursor.executemany(_ADD_HOURS, fresh)
    for begins, ends in _stretches(sorted(put.recount)):
        count_hours(place_id, begins, ends)


def count_hours(place_id: int, first: int, last: int) -> None:
    """Work out a stretch of hours anew, both ends in it, from the readings on record."""
    with connection.cursor() as cursor:
        cursor.execute(_REMOVE_HOURS, [place_id, first, last])
        cursor.execute(_COUNT_HOURS, [place_id, first * 3600, last * 3600 + 3599])


def _hours_on_record(place_id: int, first: int, last: int) -> set[int]:
    found = HourOfReadings.objects.filter(place_id=place_id, hour__range=(first, last))
    return set(found.values_list("hour", flat=True))


def _stretches(hours: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield runs of hours that follow each other, first and last of each."""
    if not hours:
        return
    first = hours[0]
    for before, after in pairwise(hours):
        if after > before + 1:
            yield first, before
            first = after
    yield first, hours[-1]
