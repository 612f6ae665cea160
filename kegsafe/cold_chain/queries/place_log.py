"""What places read over a stretch of time, in one query, whatever the number of readings.

Hours in which nothing was too warm and nothing too far apart are told by their sums; only the
others are read reading by reading. What the rules find is the same as over all of them.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db import connection

from kegsafe.cold_chain.models import HourOfReadings, LoggedReading
from kegsafe.rules.cold.excursions import (
    ColdRecord,
    Excursion,
    Gap,
    excursions,
    hours_charged_above_the_clock,
)

_READINGS = LoggedReading._meta.db_table
_HOURS = HourOfReadings._meta.db_table

STAY, HOUR, READING, CHECK = range(4)  # what a row of the query is

# After a table `wanted` (place_id, first_hour, last_hour, good_up_to, longest_gap).
LOG_TABLES = f"""
    reach AS (
        SELECT wanted.*,
            COALESCE((SELECT MAX(early.hour) FROM {_HOURS} AS early
                WHERE early.place_id = wanted.place_id AND early.hour < wanted.first_hour),
                wanted.first_hour) AS from_hour,
            COALESCE((SELECT MIN(late.hour) FROM {_HOURS} AS late
                WHERE late.place_id = wanted.place_id AND late.hour > wanted.last_hour),
                wanted.last_hour) AS until_hour
        FROM wanted
    ),
    hours AS (
        SELECT each.place_id, each.hour, each.first_s, each.first_centi_degc, each.last_s,
            each.last_centi_degc, reach.longest_gap,
            CASE WHEN each.warmest > reach.good_up_to OR each.longest_step_s > reach.longest_gap
                THEN 1 ELSE 0 END AS is_loud
        FROM reach JOIN {_HOURS} AS each ON each.place_id = reach.place_id
            AND each.hour BETWEEN reach.from_hour AND reach.until_hour
    ),
    seen AS (
        SELECT hours.*, LAG(last_s) OVER in_order AS before_s,
            LAG(last_centi_degc) OVER in_order AS before_centi_degc,
            LAG(is_loud) OVER in_order AS is_after_loud, LEAD(first_s) OVER in_order AS after_s
        FROM hours WINDOW in_order AS (PARTITION BY place_id ORDER BY hour)
    )
"""  # noqa: S608 - names of our own tables
LOG_ROWS = f"""
    SELECT {HOUR} AS what, place_id AS a, hour AS b, first_s AS c, first_centi_degc AS d,
        last_s AS e, last_centi_degc AS f, before_s AS g, before_centi_degc AS h,
        NULL AS r, NULL AS s, NULL AS t, NULL AS u, NULL AS v
    FROM seen WHERE is_loud = 1 OR is_after_loud = 1 OR before_s IS NULL OR after_s IS NULL
        OR first_s - before_s > longest_gap
    UNION ALL
    SELECT {READING}, each.place_id, each.at_s, each.centi_degc, NULL, NULL, NULL, NULL, NULL,
        NULL, NULL, NULL, NULL, NULL
    FROM hours JOIN {_READINGS} AS each ON each.place_id = hours.place_id
        AND each.at_s BETWEEN CAST(hours.hour AS bigint) * 3600
            AND CAST(hours.hour AS bigint) * 3600 + 3599
    WHERE hours.is_loud = 1
"""  # noqa: S608
_ORDERED = "ORDER BY 1, 2, 3"


class Wanted(NamedTuple):
    """A stretch of a place's log: seconds of the epoch, and what makes an hour worth reading.

    `good_up_to` is the warmest good reading in hundredths of a degC, `longest_gap` the seconds
    two readings may stand apart.
    """

    place: int
    from_s: int
    until_s: int
    good_up_to: int
    longest_gap: int


class _Hour(NamedTuple):
    hour: int
    first_s: int
    first_centi_degc: int
    last_s: int
    last_centi_degc: int
    before_s: int | None
    before_centi_degc: int | None


@dataclass(frozen=True, slots=True)
class PlaceLog:
    """The parts of a place's log in which something may be found, each in order of time.

    The first part holds the first reading known, the last part the last; between two parts
    every reading is good and none is missing.
    """

    parts: tuple[tuple[Sequence[int], Sequence[int]], ...]

    @property
    def first_s(self) -> int | None:
        """Return the second of the first reading known."""
        return self.parts[0][0][0] if self.parts else None

    @property
    def last(self) -> tuple[int, int] | None:
        """Return second and temperature of the last reading."""
        return (self.parts[-1][0][-1], self.parts[-1][1][-1]) if self.parts else None

    def carried_to(self, from_s: int, until_s: int) -> "PlaceLog":
        """Return the log with its first and its last reading carried out to the ends of a stretch.

        Cut in two afterwards, the time outside the readings is a gap by its whole length still.
        """
        if not self.parts:
            return self
        parts = [(list(times), list(degrees)) for times, degrees in self.parts]
        (first_times, first_degrees), (last_times, last_degrees) = parts[0], parts[-1]
        if from_s < first_times[0]:
            first_times.insert(0, from_s)
            first_degrees.insert(0, first_degrees[0])
        if until_s > last_times[-1]:
            last_times.append(until_s)
            last_degrees.append(last_degrees[-1])
        return PlaceLog(tuple(parts))

    def record(
        self, from_s: int, until_s: int, *, limit: int, longest_gap: int, accuracy: int = 0
    ) -> ColdRecord:
        """Return what `excursions` finds in a stretch of the whole log.

        limit, longest_gap, accuracy : no stricter than the log was read for
        """
        if not self.parts:
            return excursions((), (), limit, longest_gap=longest_gap, start=from_s, end=until_s)
        found: list[Excursion] = []
        gaps: list[Gap] = []
        for times, degrees, start, end in self._cuts(from_s, until_s):
            cut = excursions(
                times,
                degrees,
                limit,
                longest_gap=longest_gap,
                accuracy=accuracy,
                start=start,
                end=end,
            )
            found += cut.excursions
            gaps += cut.gaps
        return ColdRecord(from_s, until_s, tuple(found), tuple(gaps))

    def charged_h(self, from_s: int, until_s: int, *, longest_gap: int) -> float:
        """Return what `hours_charged_above_the_clock` finds in a stretch of the whole log.

        The log must have been read with nothing above 5 degC taken for good.
        """
        return sum(
            hours_charged_above_the_clock(
                times, degrees, longest_gap=longest_gap, start=start, end=end
            )
            for times, degrees, start, end in self._cuts(from_s, until_s)
        )

    def _cuts(
        self, from_s: int, until_s: int
    ) -> Iterator[tuple[Sequence[int], Sequence[int], int, int]]:
        """Yield each part with the stretch of it that is asked about."""
        last = len(self.parts) - 1
        for number, (times, degrees) in enumerate(self.parts):
            start = from_s if number == 0 else max(from_s, times[0])
            end = until_s if number == last else min(until_s, times[-1])
            if start < end:
                yield times, degrees, start, end


def place_logs(wanted: Iterable[Wanted]) -> dict[int, PlaceLog]:
    """Return the log of each place over its stretch: one query; none where nothing was read."""
    asked = list(wanted)
    if not asked:
        return {}
    values = ", ".join(["(%s, %s, %s, %s, %s)"] * len(asked))
    names = "place_id, first_hour, last_hour, good_up_to, longest_gap"
    sql = f"WITH wanted ({names}) AS (VALUES {values}), {LOG_TABLES} {LOG_ROWS} {_ORDERED}"
    given = [
        value
        for each in asked
        for value in (
            each.place,
            each.from_s // 3600,
            each.until_s // 3600,
            each.good_up_to,
            each.longest_gap,
        )
    ]
    with connection.cursor() as cursor:
        cursor.execute(sql, given)
        rows = cursor.fetchall()
    return logs_of(rows, {each.place: each.longest_gap for each in asked})


def logs_of(rows: Iterable[Sequence[Any]], longest_gaps: Mapping[int, int]) -> dict[int, PlaceLog]:
    """Return the logs that rows of HOUR and READING tell, which come in order."""
    hours: dict[int, list[_Hour]] = defaultdict(list)
    loud: dict[tuple[int, int], tuple[list[int], list[int]]] = {}
    for row in rows:
        if row[0] == READING:
            times, degrees = loud.setdefault((row[1], row[2] // 3600), ([], []))
            times.append(row[2])
            degrees.append(row[3])
        elif row[0] == HOUR:
            hours[row[1]].append(_Hour(*row[2:9]))
    return {
        place: PlaceLog(tuple(_parts(place, found, loud, longest_gaps[place])))
        for place, found in hours.items()
    }


def _parts(
    place: int,
    hours: Sequence[_Hour],
    loud: Mapping[tuple[int, int], tuple[list[int], list[int]]],
    longest_gap: int,
) -> Iterator[tuple[list[int], list[int]]]:
    part: tuple[list[int], list[int]] | None = None
    for hour in hours:
        readings = loud.get((place, hour.hour))
        if part is None and (readings or _begins_something(hour, longest_gap)):
            part = ([], [])
            if hour.before_s is not None and hour.before_centi_degc is not None:
                part = ([hour.before_s], [hour.before_centi_degc])
        if part is None:
            continue
        part[0].extend(readings[0] if readings else (hour.first_s,))
        part[1].extend(readings[1] if readings else (hour.first_centi_degc,))
        if not readings:
            yield part
            part = None
    if part is not None:
        yield part
    else:
        yield [hours[-1].last_s], [hours[-1].last_centi_degc]


def _begins_something(hour: _Hour, longest_gap: int) -> bool:
    return hour.before_s is None or hour.first_s - hour.before_s > longest_gap
