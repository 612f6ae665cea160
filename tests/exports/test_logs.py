"""Every log in every format: the rows of the database, whole, harmless, and never all at once."""

import csv
import json
import tracemalloc
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from io import BytesIO, StringIO

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from kegsafe.cleaning.models import Cycle
from kegsafe.cold_chain.models import LoggedReading
from kegsafe.cold_chain.services import record_round
from kegsafe.exports import formats
from kegsafe.exports.logs import LOGS, log_called
from kegsafe.exports.logs import log as paging
from kegsafe.exports.logs.log import Column, Log, Period, moment
from kegsafe.ledger.models import Entry
from kegsafe.ledger.verification import recorded_models
from kegsafe.venues.models import Role, Venue
from tests.builders import a_lot, a_person, a_place, a_recorder, a_supplier, a_venue
from tests.laid_demo import laid_demo
from tests.pressure.roles import add_pressure_records
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

MONDAY = datetime(2026, 4, 13, 8, 0, tzinfo=UTC)
HOSTILE = [
    "=1+1",
    "@SUM(A1)",
    "+49 30 1",
    "-5",
    '<b>x</b>, "quoted"\nand a line',
    "שלום 🍋",
    "a\x0bb",
]


@pytest.fixture(scope="module")
def bar(django_db_setup, django_db_blocker) -> Iterator[Venue]:
    with django_db_blocker.unblock(), laid_demo(timezone.now()):
        venue = Venue.objects.order_by("pk").first()
        add_pressure_records(venue)
        yield venue


def signed_in(person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def the_owner(venue: Venue) -> Client:
    return signed_in(venue.memberships.get(role=Role.OWNER).user)


def taken(client: Client, key: str, form: str = "jsonl", **days: str) -> bytes:
    answer = client.get(reverse("export-log"), {"log": key, "format": form, **days})
    assert answer.status_code == 200, answer.content[:500]
    assert "attachment" in answer["Content-Disposition"]
    return b"".join(answer.streaming_content)


def as_json(content: bytes) -> list[dict]:
    return [json.loads(line) for line in content.decode().splitlines()]


def as_csv(content: bytes) -> list[dict]:
    return list(csv.DictReader(StringIO(content.decode("utf-8-sig"), newline="")))


def as_sheet(content: bytes) -> list[list]:
    return [list(row) for row in load_workbook(BytesIO(content)).active.iter_rows()]


@pytest.mark.parametrize("log", LOGS, ids=lambda log: log.key)
def test_each_log_says_the_same_in_each_format(log, bar):
    client = the_owner(bar)
    objects = as_json(taken(client, log.key))
    table = as_csv(taken(client, log.key, "csv"))
    sheet = as_sheet(taken(client, log.key, "xlsx"))
    assert len(objects) == len(table) == len(sheet) - 1
    assert [cell.value for cell in sheet[0]] == formats.heads(log)
    assert all(list(row) == formats.heads(log) for row in table)
    for said, row, cells in zip(objects, table, sheet[1:], strict=True):
        for value, text, cell in zip(said.values(), row.values(), cells, strict=True):
            if isinstance(value, (int, float)) and not isinstance(value, bool):
                assert Decimal(text) == Decimal(str(value)) == Decimal(str(cell.value))
                assert cell.data_type == "n"
            elif isinstance(value, str) and value:
                assert text.removeprefix("'") == value.removeprefix("'")


# Counted straight on the tables, by the venue each row leads to.
COUNTED = {
    "suppliers": lambda venue: venue.suppliers.count(),
    "deliveries": lambda venue: venue.deliveries.count(),
    "lots": lambda venue: venue.lots.count(),
    "preparations": lambda venue: venue.preparations.count(),
    "batches": lambda venue: venue.batches.count(),
    "fills": lambda venue: sum(keg.fills.count() for keg in venue.kegs.all()),
    "cleaning-cycles": lambda venue: Cycle.objects.filter(venue=venue).count(),
    "readings": lambda venue: sum(
        LoggedReading.objects.filter(place=place).count() for place in venue.places.all()
    ),
    "pressure-register": lambda venue: venue.pressure_items.count(),
    "pressure-checks": lambda venue: venue.pressure_checks.count(),
    "people": lambda venue: venue.memberships.count(),
    "ledger": lambda venue: venue.chain.head_sequence,
}


@pytest.mark.parametrize("key", COUNTED)
def test_a_log_has_every_row_of_its_venue_and_none_of_another(key, bar):
    rows = as_json(taken(the_owner(bar), key))
    assert len(rows) == COUNTED[key](bar) > 0


def test_the_hashes_of_the_ledger_can_be_worked_out_from_its_lines(bar):
    """By the rule of DEVELOPERS.md: SHA-256 over the fields, one a line, in this order."""
    names = ("chain", "sequence", "recorded_at_us", "person", "action", "subject")
    before = "0" * 64
    for line in as_json(taken(the_owner(bar), "ledger")):
        assert line["previous_hash"] == before
        text = "\n".join(
            [*(str(line[name]) for name in names), before, line["record"], line["detail"]]
        )
        before = sha256(text.encode()).hexdigest()
        assert line["hash"] == before
    assert before == bar.chain.head_hash


def test_every_subject_of_the_ledger_can_be_read_there(bar):
    """A room that has no log of its own yet is in the ledger's, record by record."""
    lines = as_json(taken(the_owner(bar), "ledger"))
    subjects = {line["subject"].partition(":")[0] for line in lines}
    assert subjects <= {model._meta.label_lower for model in recorded_models()}


# What people typed


@pytest.mark.parametrize("typed", HOSTILE)
def test_what_somebody_typed_is_text_in_every_format(typed, bar):
    name = f"{typed} {len(typed)}"
    a_supplier(bar, name=name)
    client = the_owner(bar)
    assert name in {row["supplier"] for row in as_json(taken(client, "suppliers"))}
    csv_names = {row["Supplier"] for row in as_csv(taken(client, "suppliers", "csv"))}
    assert (f"'{name}" if name[0] in "=+-@" else name) in csv_names
    cells = [row[0] for row in as_sheet(taken(client, "suppliers", "xlsx"))]
    assert name.replace("\x0b", "") in {cell.value for cell in cells}
    assert {cell.data_type for cell in cells} == {"s"}


def test_a_temperature_below_nothing_is_a_number_and_no_formula(bar):
    place = a_place(bar, name="Freezer 9")
    at = timezone.now() - timedelta(minutes=1)
    record_round(venue=bar, readings={place: Decimal("-18.5")}, read_at=at, by=a_recorder(bar))
    rows = as_csv(taken(the_owner(bar), "readings-by-hand", "csv"))
    assert {row["Temperature (°C)"] for row in rows if row["Place"] == "Freezer 9"} == {"-18.50"}


def test_no_password_is_in_the_list_of_people(bar):
    content = taken(the_owner(bar), "people")
    for member in bar.memberships.select_related("user"):
        assert member.user.get_username().encode() in content
        assert member.user.password.encode() not in content


# Times and periods


def test_a_moment_stands_in_the_venues_time_with_its_offset_and_in_utc():
    """The night New York's clocks go back, 2026-11-01: 05:30 and 06:30 UTC are both 01:30."""
    venue = a_venue(time_zone="America/New_York")
    for at in (datetime(2026, 11, 1, 5, 30, tzinfo=UTC), datetime(2026, 11, 1, 6, 30, tzinfo=UTC)):
        a_lot(venue, received_at=at)
    rows = as_json(taken(the_owner(venue), "deliveries"))
    assert [(row["received_at"], row["received_at_utc"]) for row in rows] == [
        ("2026-11-01T01:30:00-04:00", "2026-11-01T05:30:00Z"),
        ("2026-11-01T01:30:00-05:00", "2026-11-01T06:30:00Z"),
    ]


@pytest.mark.parametrize(
    ("received", "is_in"),
    [
        (datetime(2026, 4, 13, 3, 59, 59, tzinfo=UTC), False),
        (datetime(2026, 4, 13, 4, 0, tzinfo=UTC), True),
        (datetime(2026, 4, 15, 3, 59, 59, tzinfo=UTC), True),
        (datetime(2026, 4, 15, 4, 0, tzinfo=UTC), False),
    ],
)
def test_a_period_is_whole_days_of_the_venue_both_included(received, is_in):
    """13 and 14 April in New York begin and end at 04:00 UTC."""
    venue = a_venue(time_zone="America/New_York")
    a_lot(venue, received_at=received)
    days = {"since": "2026-04-13", "until": "2026-04-14"}
    rows = as_json(taken(the_owner(venue), "deliveries", **days))
    assert len(rows) == is_in


def test_the_file_is_named_after_venue_log_and_period(bar):
    days = {"since": "2026-04-13", "until": "2026-04-14"}
    answer = the_owner(bar).get(reverse("export-log"), {"log": "lots", "format": "csv", **days})
    assert answer["Content-Disposition"].endswith('-lots-2026-04-13-2026-04-14.csv"')


# What cannot be


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ({"since": "13.4.2026"}, "Write year-month-day, such as 2026-04-07."),
        ({"until": "1026-04-13"}, "year"),
        ({"since": "2026-04-14", "until": "2026-04-13"}, "This is before 2026-04-14."),
        ({"format": "pdf"}, "Select a valid choice|Choose"),
    ],
)
def test_what_cannot_be_is_told_at_its_field_and_kept(days, words, bar):
    asked = {"log": "lots", "format": "csv", **days}
    answer = the_owner(bar).get(reverse("export-log"), asked)
    page = answer.content.decode()
    assert any(word in page for word in words.split("|"))
    assert all(typed in page for name, typed in days.items() if name != "format")


def test_a_log_that_is_none_is_not_found(bar):
    asked = {"log": "../lots", "format": "csv"}
    assert the_owner(bar).get(reverse("export-log"), asked).status_code == 404


def test_without_a_log_it_leads_to_the_list(bar):
    assert the_owner(bar).get(reverse("export-log")).url == reverse("exports")


# Who may


@pytest.mark.parametrize("role", Role)
def test_everybody_of_the_venue_takes_every_log_but_managers_alone_the_people(role, bar):
    client = signed_in(bar.memberships.filter(role=role).first().user)
    page = client.get(reverse("exports")).content.decode()
    for log in LOGS:
        answer = client.get(reverse("export-log"), {"log": log.key, "format": "csv"})
        may = log.key != "people" or role in {Role.MANAGER, Role.OWNER}
        assert answer.status_code == (200 if may else 403)
        assert (f'value="{log.key}"' in page) == may


def test_nothing_is_recorded_when_a_log_is_taken_away(bar):
    before = Entry.objects.count()
    taken(the_owner(bar), "lots", "xlsx")
    assert Entry.objects.count() == before


def test_the_owner_takes_the_whole_venue_away_by_its_page(bar):
    answer = the_owner(bar).get(reverse("move-house-file"))
    assert b"".join(answer.streaming_content)[:2] == b"PK"
    assert answer["Content-Disposition"].endswith('.zip"')


# What it costs


def test_the_page_makes_the_same_few_queries_whatever_the_log(bar):
    client = the_owner(bar)
    before = queries_of(client, reverse("exports"))
    for _ in range(3):
        a_lot(bar)
    assert queries_of(client, reverse("exports")) == before <= 3


def test_a_log_is_read_page_by_page_and_every_row_once(bar, monkeypatch):
    """Three a page: where one ends the next begins, whatever was recorded in between."""
    whole = as_json(taken(the_owner(bar), "lots"))
    monkeypatch.setattr(paging, "ROWS_AT_ONCE", 3)
    assert as_json(taken(the_owner(bar), "lots")) == whole
    assert len(whole) > 9


def test_what_is_recorded_while_somebody_downloads_does_not_shift_the_rows(bar, monkeypatch):
    monkeypatch.setattr(paging, "ROWS_AT_ONCE", 3)
    rows = log_called("lots").rows(bar, Period())
    first = [next(rows)[0] for _ in range(4)]
    new = a_lot(bar)
    codes = [*first, *(row[0] for row in rows)]
    assert len(codes) == len(set(codes)) == bar.lots.count()
    assert codes[-1] == new.code


COUNTING = Log(
    "counting",
    "Counting",
    "Rows that come from nowhere.",
    (Column("number", "Number"), Column("word", "Word"), moment("at", "At")),
    lambda venue, period: ([number, "x" * 50, MONDAY] for number in range(0)),
)


def _rows(count: int):
    return ([number, "x" * 50, MONDAY + timedelta(seconds=number)] for number in range(count))


@pytest.mark.parametrize("form", ["csv", "jsonl", "xlsx"])
def test_ten_times_the_rows_take_no_more_memory(form, tmp_path):
    """20,000 rows are 2 MB of text; what is held stays as it is."""
    few, many = (_most_held(form, count, tmp_path) for count in (2_000, 20_000))
    assert many < 1.5 * few + 100_000


def _most_held(form: str, count: int, folder) -> int:
    tracemalloc.start()
    try:
        if form == "xlsx":
            with (folder / "log.xlsx").open("wb") as out:
                formats.write_workbook(COUNTING, _rows(count), UTC, out)
        else:
            stream = next(each.stream for each in formats.FORMATS if each.key == form)
            for _ in stream(COUNTING, _rows(count), UTC):
                pass
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_a_log_too_long_for_a_sheet_goes_on_in_the_next(monkeypatch):
    monkeypatch.setattr(formats, "MOST_ROWS_A_SHEET", 10)
    out = BytesIO()
    formats.write_workbook(COUNTING, _rows(25), UTC, out)
    book = load_workbook(BytesIO(out.getvalue()))
    assert [sheet.max_row for sheet in book.worksheets] == [11, 11, 6]
    assert book.sheetnames == ["Counting", "Counting 2", "Counting 3"]


def test_staff_of_another_bar_take_nothing_from_this_one(bar):
    other = a_venue(name="The Tin Heron")
    client = signed_in(a_person(other, Role.OWNER))
    assert as_json(taken(client, "lots")) == []
