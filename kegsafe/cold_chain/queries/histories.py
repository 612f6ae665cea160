"""Where drinks stood and what was read there: one query for all of them."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import connection

from kegsafe.cold_chain.models import GapDecision, PlaceCooling, Thermometer, ThermometerCheck
from kegsafe.cold_chain.queries.place_log import (
    CHECK,
    LOG_ROWS,
    LOG_TABLES,
    STAY,
    PlaceLog,
    logs_of,
)
from kegsafe.equipment.models import Keg, Place, Placement
from kegsafe.frame.rows_as_json import stored_moment
from kegsafe.rules.cold.excursions import ColdRecord
from kegsafe.rules.cold.held_limits import (
    NO_LIMIT,
    Held,
    held_between,
    held_over,
    limits_of_days,
    record_over,
)
from kegsafe.rules.cold.history import Counts, Decision, History, Stay
from kegsafe.rules.cold.monitoring import longest_gap_s
from kegsafe.rules.cold.tables import figure
from kegsafe.rules.cold.temperature_log import limit_centi_degc, reading_centi_degc
from kegsafe.rules.cold.thermometers import Check, Doubt, Method, standing, tolerance
from kegsafe.rules.date_candidates import limit_if_any
from kegsafe.rules.facts import House
from kegsafe.rules.limits import EffectiveLimit

COLD_RULE = "cold_holding.maximum"
GROWTH_RULE = "excursion.growth_charge"
DECISION = CHECK + 1  # what a row of the query is, beside those of a place's log

# From here on growth charges more hours than the clock (`hours_charged_above_the_clock`).
_CHARGED_FROM = 500

# A keg's stays follow each other, so those that matter begin with the last one begun before the
# first moment asked about: found by the index, however many years of stays lie behind.
_NAMED = re.compile(r"%\((\w+)\)s")
_SQL = f"""
    WITH asked AS (
        SELECT keg.id AS keg_id,
            COALESCE((SELECT early.began_at FROM {Placement._meta.db_table} AS early
                WHERE early.keg_id = keg.id AND early.began_at <= %(first)s
                ORDER BY early.began_at DESC LIMIT 1), %(first)s) AS from_at
        FROM {Keg._meta.db_table} AS keg WHERE keg.id IN (KEGS)
    ),
    stood AS (
        SELECT stay.keg_id, stay.place_id, stay.began_at, stay.ended_at, place.name, place.kind,
            cooling.limit_degc, cooling.reading_interval_s, cooling.thermometer_id, probe.is_air
        FROM asked CROSS JOIN {Placement._meta.db_table} AS stay
        JOIN {Place._meta.db_table} AS place ON place.id = stay.place_id
        LEFT JOIN {PlaceCooling._meta.db_table} AS cooling ON cooling.place_id = stay.place_id
        LEFT JOIN {Thermometer._meta.db_table} AS probe ON probe.id = cooling.thermometer_id
        WHERE stay.keg_id = asked.keg_id AND stay.began_at >= asked.from_at
            AND (stay.ended_at IS NULL OR stay.ended_at > %(first)s)
    ),
    wanted AS (
        SELECT DISTINCT place_id, CAST(%(first_hour)s AS bigint) AS first_hour,
            CAST(%(last_hour)s AS bigint) AS last_hour,
            CASE WHEN limit_degc * 100 < CAST(%(limit)s AS bigint) THEN limit_degc * 100
                ELSE CAST(%(limit)s AS bigint) END - CAST(%(accuracy)s AS bigint) AS good_up_to,
            CASE WHEN reading_interval_s * CAST(%(gap_factor)s AS bigint)
                    < CAST(%(longest_gap)s AS bigint)
                THEN reading_interval_s * CAST(%(gap_factor)s AS bigint)
                ELSE CAST(%(longest_gap)s AS bigint) END AS longest_gap
        FROM stood
    ),
    {LOG_TABLES}
    SELECT {STAY} AS what, keg_id AS a, place_id AS b, reading_interval_s AS c,
        thermometer_id AS d, CASE WHEN is_air THEN 1 ELSE 0 END AS e, NULL AS f, NULL AS g,
        NULL AS h, name AS r, kind AS s, CAST(began_at AS text) AS t,
        CAST(ended_at AS text) AS u, CAST(limit_degc AS text) AS v
    FROM stood
    UNION ALL
    {LOG_ROWS}
    UNION ALL
    SELECT {CHECK}, test.thermometer_id, test.id, NULL, NULL, NULL, NULL, NULL, NULL,
        test.method, CAST(test.checked_at AS text), CAST(test.read_degc AS text),
        CAST(test.altitude_m AS text), CAST(test.air_pa AS text)
    FROM {ThermometerCheck._meta.db_table} AS test
    WHERE test.thermometer_id IN (SELECT thermometer_id FROM stood)
    UNION ALL
    SELECT {DECISION}, said.place_id, said.id, said.from_s, said.until_s, NULL, NULL, NULL, NULL,
        said.counts, said.decided_by, CAST(said.decided_at AS text), said.found,
        CAST(said.measured_degc AS text)
    FROM {GapDecision._meta.db_table} AS said
    WHERE said.place_id IN (SELECT place_id FROM stood) AND said.until_s > %(first_s)s
    ORDER BY 1, 2, 3
"""  # noqa: S608 - names of our own tables


class DrinkInKeg(NamedTuple):
    """A drink, known by the key of its fill, in a keg from then to then; both ends aware."""

    fill: int
    keg: int
    from_at: datetime
    until_at: datetime


@dataclass(frozen=True, slots=True)
class _Place:
    """A place as a history needs it."""

    name: str
    is_chilled: bool
    held: tuple[Held, ...]
    longest_gap: int
    decisions: tuple[Decision, ...]


@dataclass(frozen=True, slots=True)
class _Placed:
    place: int
    from_s: int
    until_s: int | None


@dataclass(frozen=True, slots=True)
class _Question:
    """What is asked: over which seconds, under whose rules, held to which limits.

    `limits` are those in force over the stretch, each with the second it begins to hold.
    """

    from_s: int
    until_s: int
    house: House
    now: datetime
    limits: Sequence[tuple[int, EffectiveLimit | None]]
    charges_growth: bool

    @classmethod
    def of(cls, asked: Sequence[DrinkInKeg], house: House, now: datetime) -> "_Question":
        from_s = int(min(drink.from_at for drink in asked).timestamp())
        until_s = int(max(drink.until_at for drink in asked).timestamp())
        charge = limit_if_any(house, GROWTH_RULE, now.astimezone(house.zone).date())
        return cls(
            from_s,
            until_s,
            house,
            now,
            limits_of_days(house, COLD_RULE, from_s, until_s),
            charge is not None and charge.value > 0,
        )

    @property
    def on(self) -> date:
        return self.now.astimezone(self.house.zone).date()

    @property
    def coldest_limit(self) -> int:
        """Return the coldest limit in hundredths of a degC, and none above what growth charges."""
        known = [limit_centi_degc(limit.value) for _, limit in self.limits if limit is not None]
        return min([*known, _CHARGED_FROM if self.charges_growth else NO_LIMIT])


def histories_of(drinks: Iterable[DrinkInKeg], house: House, now: datetime) -> dict[int, History]:
    """Return the temperature history of each drink by the key of its fill: one query for all.

    Each day is held to the limit of that day. Where neither code nor venue names one, nothing is
    above it, and what was not read is still not known.
    """
    asked = list(drinks)
    if not asked:
        return {}
    question = _Question.of(asked, house, now)
    rows = _rows(asked, question)
    stays, places = _stays(rows, question)
    logs = logs_of(rows, {key: place.longest_gap for key, place in places.items()})
    return {
        drink.fill: _history(drink, stays[drink.keg], places, logs, question) for drink in asked
    }


def _rows(asked: Sequence[DrinkInKeg], question: _Question) -> list[Sequence[Any]]:
    kegs = _filled_up(sorted({drink.keg for drink in asked}))
    house, on = question.house, question.on
    widest = max(tolerance(house, on, is_air=is_air).degc for is_air in (False, True))
    first = min(drink.from_at for drink in asked)
    given = {
        "first": connection.ops.adapt_datetimefield_value(first),
        "first_s": question.from_s,
        "first_hour": question.from_s // 3600,
        "last_hour": question.until_s // 3600,
        "limit": question.coldest_limit,
        "accuracy": reading_centi_degc(widest),
        "gap_factor": int(figure("readings.gap_factor").value),
        "longest_gap": longest_gap_s(None, house, on),
    }
    with connection.cursor() as cursor:
        cursor.execute(*_written(kegs, given))
        return cursor.fetchall()


def _written(kegs: Sequence[int], given: Mapping[str, Any]) -> tuple[str, list[Any]]:
    """Return the query with its values in their order: Django's cursors take no names on SQLite
    as they do on PostgreSQL.
    """
    before, after = _SQL.split("KEGS")
    first, later = ([given[name] for name in _NAMED.findall(part)] for part in (before, after))
    marks = ", ".join(["%s"] * len(kegs))
    return _NAMED.sub("%s", f"{before}{marks}{after}"), [*first, *kegs, *later]


def _filled_up(keys: list[int]) -> list[int]:
    """Fill a list up to 1, 2, 4, ... keys, so that few versions of the SQL are compiled."""
    return keys + keys[-1:] * ((1 << (len(keys) - 1).bit_length()) - len(keys))


def _stays(
    rows: Iterable[Sequence[Any]], question: _Question
) -> tuple[dict[int, list[_Placed]], dict[int, _Place]]:
    stays: dict[int, list[_Placed]] = defaultdict(list)
    checks: dict[int, list[Check]] = defaultdict(list)
    decisions: dict[int, list[Decision]] = defaultdict(list)
    found: dict[int, Sequence[Any]] = {}
    for row in rows:
        if row[0] == STAY:
            ended = row[12]
            stays[row[1]].append(
                _Placed(row[2], _second(row[11]), None if ended is None else _second(ended))
            )
            found[row[2]] = row
        elif row[0] == CHECK:
            checks[row[1]].append(_check(row))
        elif row[0] == DECISION:
            decisions[row[1]].append(_decision(row))
    places = {key: _place(row, checks, decisions[key], question) for key, row in found.items()}
    return stays, places


def _place(
    row: Sequence[Any],
    checks: Mapping[int, Sequence[Check]],
    decisions: Iterable[Decision],
    question: _Question,
) -> _Place:
    house, on = question.house, question.on
    doubts: tuple[Doubt, ...] = ()
    off_degc = Decimal(0)
    if row[4] is not None:
        allowed = tolerance(house, on, is_air=bool(row[5]))
        off_degc = allowed.degc
        doubts = standing(checks.get(row[4], ()), question.now, allowed).doubts
    return _Place(
        name=row[9],
        is_chilled=row[10] in Place.CHILLED,
        held=held_over(
            question.limits,
            question.until_s,
            own_degc=None if row[13] is None else Decimal(row[13]),
            doubts=doubts,
            off_degc=off_degc,
        ),
        longest_gap=longest_gap_s(row[3], house, on),
        decisions=tuple(decisions),
    )


def _check(row: Sequence[Any]) -> Check:
    return Check(
        checked_at=stored_moment(row[10]),
        method=Method(row[9]),
        read_degc=Decimal(row[11]),
        altitude_m=None if row[12] is None else float(row[12]),
        air_bar_abs=None if row[13] is None else float(row[13]) / 100_000,
    )


def _decision(row: Sequence[Any]) -> Decision:
    return Decision(
        from_s=row[3],
        until_s=row[4],
        counts=Counts(row[9]),
        by=row[10],
        at=stored_moment(row[11]),
        found=row[12],
        measured_degc=None if row[13] is None else Decimal(row[13]),
    )


def _history(
    drink: DrinkInKeg,
    placed: Iterable[_Placed],
    places: Mapping[int, _Place],
    logs: Mapping[int, PlaceLog],
    question: _Question,
) -> History:
    from_s, until_s = int(drink.from_at.timestamp()), int(drink.until_at.timestamp())
    stays, last_read = [], None
    for each in sorted(placed, key=lambda stay: stay.from_s):
        log = logs.get(each.place, PlaceLog(()))
        if each.until_s is None:
            last_read = log.last
        begins = max(from_s, each.from_s)
        ends = until_s if each.until_s is None else min(until_s, each.until_s)
        if begins < ends:
            stays.append(_stay(each.place, places[each.place], log, (begins, ends), question))
    return History(from_s, max(from_s, until_s), tuple(stays), last_read=last_read)


def _stay(
    key: int, place: _Place, log: PlaceLog, stood: tuple[int, int], question: _Question
) -> Stay:
    from_s, until_s = stood
    held = held_between(place.held, from_s, until_s)
    known = log if len(held) == 1 else log.carried_to(from_s, until_s)

    def record(begins_s: int, ends_s: int, each: Held) -> ColdRecord:
        return known.record(
            begins_s,
            ends_s,
            limit=NO_LIMIT if each.limit is None else each.limit,
            longest_gap=place.longest_gap,
            accuracy=0 if each.limit is None else each.accuracy,
        )

    charged_h = 0.0
    if question.charges_growth:
        charged_h = log.charged_h(from_s, until_s, longest_gap=place.longest_gap)
    return Stay(
        place=place.name,
        is_chilled=place.is_chilled,
        from_s=from_s,
        until_s=until_s,
        record=record_over(held, until_s, record),
        decisions=place.decisions,
        charged_h=charged_h,
        key=key,
    )


def _second(text: str) -> int:
    return int(stored_moment(text).timestamp())
