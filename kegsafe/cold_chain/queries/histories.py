"""Where drinks stood and what was read there: one query for all of them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import connection

from kegsafe.cold_chain.models import PlaceCooling, Thermometer, ThermometerCheck
from kegsafe.cold_chain.queries.place_log import (
    CHECK,
    LOG_ROWS,
    LOG_TABLES,
    STAY,
    PlaceLog,
    logs_of,
)
from kegsafe.equipment.models import Place, Placement
from kegsafe.rules.cold.fill_effect import History, Stay, longest_gap_s
from kegsafe.rules.cold.temperature_log import limit_centi_degc, reading_centi_degc
from kegsafe.rules.cold.thermometers import Check, Method, standing, tolerance
from kegsafe.rules.date_candidates import limit_if_any
from kegsafe.rules.facts import House

COLD_RULE = "cold_holding.maximum"

_SQL = f"""
    WITH stood AS (
        SELECT stay.keg_id, stay.place_id, stay.began_at, stay.ended_at, place.name, place.kind,
            cooling.limit_degc, cooling.reading_interval_s, cooling.thermometer_id, probe.is_air
        FROM {Placement._meta.db_table} AS stay
        JOIN {Place._meta.db_table} AS place ON place.id = stay.place_id
        LEFT JOIN {PlaceCooling._meta.db_table} AS cooling ON cooling.place_id = stay.place_id
        LEFT JOIN {Thermometer._meta.db_table} AS probe ON probe.id = cooling.thermometer_id
        WHERE stay.keg_id IN (KEGS) AND (stay.ended_at IS NULL OR stay.ended_at > %s)
    ),
    wanted AS (
        SELECT DISTINCT place_id, CAST(%s AS bigint) AS first_hour,
            CAST(%s AS bigint) AS last_hour,
            CASE WHEN limit_degc * 100 < CAST(%s AS bigint) THEN limit_degc * 100
                ELSE CAST(%s AS bigint) END - CAST(%s AS bigint) AS good_up_to,
            COALESCE(reading_interval_s * CAST(%s AS bigint), CAST(%s AS bigint)) AS longest_gap
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
    limit: int
    longest_gap: int
    accuracy: int


@dataclass(frozen=True, slots=True)
class _Placed:
    place: int
    from_s: int
    until_s: int | None


def histories_of(
    drinks: Iterable[DrinkInKeg], house: House, now: datetime
) -> dict[int, History | None]:
    """Return the temperature history of each drink by the key of its fill: one query for all.

    None where no limit is on file for the venue's code: nothing can be above it then.
    Limits are those of the day of `now`.
    """
    asked = list(drinks)
    limit = limit_if_any(house, COLD_RULE, now.astimezone(house.zone).date())
    if not asked:
        return {}
    if limit is None:
        return {drink.fill: None for drink in asked}
    rows = _rows(asked, house, limit_centi_degc(limit.value), now)
    stays, places = _stays(rows, house, limit_centi_degc(limit.value), now)
    logs = logs_of(rows, {key: place.longest_gap for key, place in places.items()})
    return {drink.fill: _history(drink, stays[drink.keg], places, logs) for drink in asked}


def _rows(
    asked: Sequence[DrinkInKeg], house: House, limit: int, now: datetime
) -> list[Sequence[Any]]:
    kegs = _filled_up(sorted({drink.keg for drink in asked}))
    first = min(drink.from_at for drink in asked)
    last = max(drink.until_at for drink in asked)
    on = now.astimezone(house.zone).date()
    widest = max(tolerance(house, on, is_air=is_air).degc for is_air in (False, True))
    given = [
        *kegs,
        connection.ops.adapt_datetimefield_value(first),
        int(first.timestamp()) // 3600,
        int(last.timestamp()) // 3600,
        limit,
        limit,
        reading_centi_degc(widest),
        longest_gap_s(1),
        longest_gap_s(None),
    ]
    with connection.cursor() as cursor:
        cursor.execute(_SQL.replace("KEGS", ", ".join(["%s"] * len(kegs))), given)
        return cursor.fetchall()


def _filled_up(keys: list[int]) -> list[int]:
    """Fill a list up to 1, 2, 4, ... keys, so that few versions of the SQL are compiled."""
    return keys + keys[-1:] * ((1 << (len(keys) - 1).bit_length()) - len(keys))


def _stays(
    rows: Iterable[Sequence[Any]], house: House, limit: int, now: datetime
) -> tuple[dict[int, list[_Placed]], dict[int, _Place]]:
    stays: dict[int, list[_Placed]] = defaultdict(list)
    checks: dict[int, list[Check]] = defaultdict(list)
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
    places = {key: _place(row, checks, house, limit, now) for key, row in found.items()}
    return stays, places


def _place(
    row: Sequence[Any],
    checks: Mapping[int, Sequence[Check]],
    house: House,
    limit: int,
    now: datetime,
) -> _Place:
    own = limit if row[13] is None else limit_centi_degc(Decimal(row[13]))
    accuracy = 0
    if row[4] is not None:
        allowed = tolerance(house, now.astimezone(house.zone).date(), is_air=bool(row[5]))
        stands = standing(checks.get(row[4], ()), now, allowed)
        accuracy = reading_centi_degc(stands.accuracy_degc(allowed))
    return _Place(
        name=row[9],
        is_chilled=row[10] in Place.CHILLED,
        limit=min(limit, own),
        longest_gap=longest_gap_s(row[3]),
        accuracy=accuracy,
    )


def _check(row: Sequence[Any]) -> Check:
    return Check(
        checked_at=_moment(row[10]),
        method=Method(row[9]),
        read_degc=Decimal(row[11]),
        altitude_m=None if row[12] is None else float(row[12]),
        air_bar_abs=None if row[13] is None else float(row[13]) / 100_000,
    )


def _history(
    drink: DrinkInKeg,
    placed: Iterable[_Placed],
    places: Mapping[int, _Place],
    logs: Mapping[int, PlaceLog],
) -> History:
    from_s, until_s = int(drink.from_at.timestamp()), int(drink.until_at.timestamp())
    stays = []
    for each in sorted(placed, key=lambda stay: stay.from_s):
        begins = max(from_s, each.from_s)
        ends = until_s if each.until_s is None else min(until_s, each.until_s)
        if begins < ends:
            stays.append(_stay(places[each.place], logs.get(each.place), begins, ends))
    return History(from_s, max(from_s, until_s), tuple(stays))


def _stay(place: _Place, log: PlaceLog | None, from_s: int, until_s: int) -> Stay:
    record = (log or PlaceLog(())).record(
        from_s,
        until_s,
        limit=place.limit,
        longest_gap=place.longest_gap,
        accuracy=place.accuracy,
    )
    return Stay(place.name, place.is_chilled, from_s, until_s, record)


def _second(text: str) -> int:
    return int(_moment(text).timestamp())


def _moment(text: str) -> datetime:
    """Read a moment as SQLite (UTC, unsaid) or PostgreSQL writes it."""
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
