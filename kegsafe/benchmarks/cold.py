"""How long logger files, excursions and the page of a place take, against the least they can."""

import csv
import gc
import math
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from itertools import count
from pathlib import Path

from django.db import connection, transaction
from django.urls import reverse
from django.utils import timezone

from kegsafe.benchmarks.bar import Bar, open_bar
from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.pour_page import Visitor
from kegsafe.benchmarks.throw_away import Site
from kegsafe.cold_chain.log_file import SNIFFED_BYTES, sniff
from kegsafe.cold_chain.models import HourOfReadings, ImportedLog, LoggedReading, PlaceCooling
from kegsafe.cold_chain.queries import Wanted, place_logs
from kegsafe.cold_chain.services import import_log, set_cooling
from kegsafe.cold_chain.services.log_store import count_hours
from kegsafe.equipment.models import Place
from kegsafe.equipment.services import add_place
from kegsafe.ledger.services import Recorder

ROWS = 1_000_000
MOST_TIMES_PLAIN_IMPORT = 2.5
MOST_TIMES_BARE_EXCURSIONS = 1.5
MOST_BETWEEN_SIZES = 1.3
FEW, MANY = 10_000, 10_000_000
PLACES, DAYS = 10, 30
LIMIT, GAP_S = 500, 120

_FIRST = datetime(2024, 1, 1, tzinfo=UTC)
_DAY_S = 86_400
_READINGS = LoggedReading._meta.db_table
_numbers = count(1)


def measure_files(site: Site, rounds: int) -> Iterator[Comparison]:
    """Measure the import of a long file, then of the same file again."""
    bar = open_bar()
    path = site.folder / "long.csv"
    _write_log(path, ROWS)
    place = _new_place(bar)
    mine, plain = f"importing {ROWS:,} rows", "csv and executemany of them"
    works: dict[str, Callable[[], object]] = {
        mine: lambda: _import(path, place, bar),
        plain: lambda: _plainly(path, place),
    }
    seconds: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            _empty(place)
            gc.collect()
            began = time.perf_counter()
            work()
            seconds[name].append(time.perf_counter() - began)
    yield compare(mine, plain, seconds, bound=MOST_TIMES_PLAIN_IMPORT)
    _empty(place)
    _import(path, place, bar)
    again = "the same file again"
    seconds |= take_turns({again: lambda: _import(path, place, bar)}, rounds=rounds, times=1)
    yield compare(again, mine, seconds, bound=1)


def _write_log(path: Path, rows: int) -> None:
    """Write a log of one-minute readings as a logger does: times with an offset, hundredths."""
    with path.open("w", encoding="utf-8") as file:
        file.write("time,temperature (°C)\n")
        for k in range(rows):
            at = _FIRST + timedelta(minutes=k)
            file.write(f"{at:%Y-%m-%dT%H:%M:%SZ},{_centi_degc(k) / 100:.2f}\n")


def _centi_degc(minute: int) -> int:
    """Return a fridge that cycles between 1.5 and 4.5 degC and is opened for ten minutes a day."""
    is_opened = minute % 1440 in range(1080, 1090)
    return round(300 + 150 * math.sin(minute / 6)) + (400 if is_opened else 0)


def _import(path: Path, place: Place, bar: Bar) -> None:
    with path.open("rb") as stream:
        shape = sniff(stream.read(SNIFFED_BYTES)).shape
        by = Recorder(chain_key=bar.venue.chain_id, person="benchmark")
        done = import_log(place=place, stream=stream, name=path.name, shape=shape, by=by)
    if done.log.good != ROWS:
        raise RuntimeError(f"{done.log.good} rows were read, not {ROWS}")


def _plainly(path: Path, place: Place) -> None:
    """The yardstick: the csv module, typed values, one transaction, nothing checked."""
    with path.open(newline="", encoding="utf-8") as file, transaction.atomic():
        rows = csv.reader(file)
        next(rows)
        values = (
            (
                place.pk,
                int(datetime.fromisoformat(at).timestamp()),
                round(float(degc) * 100),
                LoggedReading.Source.FILE.value,
            )
            for at, degc in rows
        )
        with connection.cursor() as cursor:
            cursor.executemany(_INSERT, values)


_INSERT = f"INSERT INTO {_READINGS} (place_id, at_s, centi_degc, source) VALUES (%s, %s, %s, %s)"  # noqa: S608


def _empty(place: Place) -> None:
    with connection.cursor() as cursor:
        for model in (LoggedReading, HourOfReadings, ImportedLog):
            cursor.execute(
                f"DELETE FROM {model._meta.db_table} WHERE place_id = %s",  # noqa: S608
                [place.pk],
            )


def _new_place(bar: Bar) -> Place:
    by = Recorder(chain_key=bar.venue.chain_id, person="benchmark")
    return add_place(
        venue=bar.venue, name=f"Fridge {next(_numbers)}", kind=Place.Kind.FRIDGE, by=by
    )


# Excursions


def measure_excursions(site: Site, rounds: int) -> Iterator[Comparison]:
    """Compare with a raw fetch and numpy, where numpy is installed: it is for tests alone."""
    try:
        import numpy
    except ImportError:
        print("  numpy is not installed, so the excursions were not measured against it")
        return
    bar = open_bar()
    places = [_new_place(bar) for _ in range(PLACES)]
    from_s = int(_FIRST.timestamp())
    until_s = from_s + DAYS * _DAY_S
    for number, place in enumerate(places):
        _fill(place, range(DAYS * 1440), shift=number)

    def mine() -> None:
        logs = place_logs(Wanted(place.pk, from_s, until_s, LIMIT, GAP_S) for place in places)
        for place in places:
            logs[place.pk].record(from_s, until_s, limit=LIMIT, longest_gap=GAP_S)

    def bare() -> None:
        for place in places:
            _with_numpy(numpy, place, from_s, until_s)

    what = f"excursions of {PLACES} places over {DAYS} days"
    works = {what: mine, "a raw fetch and numpy": bare}
    seconds = take_turns(works, rounds=rounds, times=1)
    yield compare(*works, seconds, bound=MOST_TIMES_BARE_EXCURSIONS)


def _with_numpy(numpy, place: Place, from_s: int, until_s: int) -> float:
    """The yardstick: every reading fetched, the steps above the limit and the gaps added up."""
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT at_s, centi_degc FROM {_READINGS} "  # noqa: S608
            "WHERE place_id = %s AND at_s BETWEEN %s AND %s ORDER BY at_s",
            [place.pk, from_s, until_s],
        )
        rows = numpy.array(cursor.fetchall())
    steps = numpy.diff(rows[:, 0])
    above = rows[:, 1] > LIMIT
    charged = above[:-1] | above[1:]
    return float(steps[charged].sum() + steps[(steps > GAP_S) & ~charged].sum())


def _fill(place: Place, minutes: range, *, shift: int) -> None:
    """Insert one-minute readings, uneven by some seconds, with a gap each day."""
    first_s = int(_FIRST.timestamp())
    rows = (
        (place.pk, first_s + 60 * k + (k * 7 + shift) % 20, _centi_degc(k + 7 * shift), 1)
        for k in minutes
        if k % 1440 not in range(600, 620)
    )
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.executemany(_INSERT, rows)
        first = (first_s + 60 * minutes[0]) // 3600
        count_hours(place.pk, first, (first_s + 60 * minutes[-1]) // 3600 + 1)


# The page of a place


def measure_page(site: Site, rounds: int) -> Iterator[Comparison]:
    """Compare the page of a place among few readings with the page among very many."""
    bar = open_bar()
    place = _new_place(bar)
    set_cooling(
        place=place,
        values={"reading_interval_s": 60, "probe_in": PlaceCooling.ProbeIn.AIR},
        by=Recorder(chain_key=bar.venue.chain_id, person="benchmark"),
    )
    visitor = Visitor(bar)
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {_READINGS}")  # noqa: S608
        cursor.execute(f"DELETE FROM {HourOfReadings._meta.db_table}")  # noqa: S608
    few = site.copy("few_readings")
    _fill(place, range(FEW), shift=0)
    site.go_on_in(site.files[0])
    many = site.copy("many_readings")
    _fill(place, range(MANY // 10), shift=0)
    for number in range(1, 10):
        _fill(_new_place(bar), range(MANY // 10), shift=number)
    day = timezone.localtime(_FIRST + timedelta(days=5), bar.venue.zone)
    url = f"{reverse('cold-place', args=[place.pk])}?day={day:%Y-%m-%d}"

    def among(file: object) -> Callable[[], None]:
        def fetch() -> None:
            site.go_on_in(file)
            request = visitor.requests.get(url, secure=True)
            if visitor.handler(request.environ).status_code != HTTPStatus.OK:
                raise RuntimeError(f"{url} did not open: nothing to measure")

        return fetch

    works = {
        f"a place among {MANY:,} readings": among(many),
        f"a place among {FEW:,}": among(few),
    }
    seconds = take_turns(works, rounds=rounds, times=10)
    yield compare(*works, seconds, bound=MOST_BETWEEN_SIZES)
