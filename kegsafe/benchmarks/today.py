"""How long Today and the self-check take as the records of years pile up."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from http import HTTPStatus

from django.db import connection, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.urls import reverse
from django.utils import timezone

from kegsafe.benchmarks.bar import Bar, open_bar
from kegsafe.benchmarks.cleaning import add_cycles
from kegsafe.benchmarks.crowd import add_finished_batches
from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.pour_page import Visitor
from kegsafe.benchmarks.throw_away import Site
from kegsafe.cleaning.services import add_batch, add_chemical, copy_plan
from kegsafe.cold_chain.models import LoggedReading
from kegsafe.cold_chain.services.log_store import count_hours
from kegsafe.equipment.models import Place
from kegsafe.ledger.services import Recorder
from kegsafe.pressure.models import Check

RECORDS = (1_000, 100_000)  # of each kind: batches, cycles of cleaning, logged temperatures
RECORDS_TO_A_CHECK = 100  # pressure equipment is looked at far less often than it is used
MOST_BETWEEN_SIZES = 1.3
FETCHES = 5  # in one round
_STEP_S = 600
_PLANS = ("line.sweet", "tap.sweet", "keg")


def measure(site: Site, rounds: int) -> Iterator[Comparison]:
    """Measure the owner's pages, which ask every room, among few and among very many records."""
    bar = open_bar()
    _take_up_plans(bar)
    visitor = Visitor(bar)
    files = {}
    for records in RECORDS:
        site.go_on_in(site.files[0])
        files[records] = site.copy(f"{records}_records")
        with transaction.atomic():
            _add_records(bar, records)
    for name, address in (("Today", "home"), ("the self-check", "readiness")):
        works = {
            f"{name} among {records:,} old records of each kind": _fetch(
                visitor, reverse(address), site, file
            )
            for records, file in files.items()
        }
        few, many = works
        seconds = take_turns(works, rounds=rounds, times=FETCHES)
        yield compare(many, few, seconds, bound=MOST_BETWEEN_SIZES)


def _fetch(visitor: Visitor, url: str, site: Site, file: BaseDatabaseWrapper) -> Callable[[], None]:
    def fetch() -> None:
        site.go_on_in(file)
        answer = visitor.handler(visitor.requests.get(url, secure=True).environ)
        if answer.status_code != HTTPStatus.OK:
            raise RuntimeError(f"{url} answered {answer.status_code}: nothing to measure")

    return fetch


def _take_up_plans(bar: Bar) -> None:
    by = Recorder(chain_key=bar.venue.chain_id, person="benchmark")
    for key in _PLANS:
        copy_plan(venue=bar.venue, starter_key=key, by=by)
    cleaner = add_chemical(venue=bar.venue, name="Cleaner", chemistry="alkaline", by=by)
    add_batch(chemical=cleaner, batch="B1", expires_on=None, by=by)


def _add_records(bar: Bar, count: int) -> None:
    """Add so many records of each kind, all of them older than what the pages show."""
    add_finished_batches(bar, count)
    add_cycles(bar.venue, count)
    for place in Place.objects.filter(venue=bar.venue, kind__in=Place.CHILLED):
        _add_temperatures(place, count)
    Check.objects.bulk_create(_checks(bar, count // RECORDS_TO_A_CHECK))


def _add_temperatures(place: Place, count: int) -> None:
    """Write a reading every ten minutes, up to a week and a day ago."""
    last_s = int((timezone.now() - timedelta(days=8)).timestamp())
    first_s = last_s - _STEP_S * (count - 1)
    rows = (
        (place.pk, first_s + _STEP_S * number, 310, LoggedReading.Source.FILE.value)
        for number in range(count)
    )
    with connection.cursor() as cursor:
        cursor.executemany(
            f"INSERT INTO {LoggedReading._meta.db_table} "  # noqa: S608 - a name of our own
            "(place_id, at_s, centi_degc, source) VALUES (%s, %s, %s, %s)",
            rows,
        )
    count_hours(place.pk, first_s // 3600, last_s // 3600 + 1)


def _checks(bar: Bar, count: int) -> Iterator[Check]:
    now = timezone.now()
    for number in range(count):
        yield Check(
            venue=bar.venue,
            keg=bar.keg,
            check_key="visual",
            label="Looked over",
            outcome=Check.Outcome.PASS,
            checked_at=now - timedelta(days=9 + number),
            recorded_by="mara",
        )
