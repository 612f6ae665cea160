"""The cleaning log for taking away: CSV, spreadsheet and PDF from the same rows as the page."""

import csv
from io import BytesIO, StringIO

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from kegsafe.cleaning import services
from kegsafe.cleaning.log_words import COLUMNS
from tests.builders import a_line, a_person, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan

pytestmark = pytest.mark.django_db
INSPECTOR_READS = (
    "What", "Plan", "Chemical and batch", "Strength", "Temperature", "Contact time",
    "Verification", "Who", "Corrective action",
)  # fmt: skip


@pytest.fixture
def inspector(client):
    """An inspector at a bar with one complete cycle and one that was given up with its action."""
    venue = a_venue()
    jonas, plan = Cleaner(venue), a_plan(venue)
    (good,) = jonas.starts(plan, a_line(venue, name="3"))
    jonas.does_all(good)
    (bad,) = jonas.starts(plan, a_line(venue, name="4"))
    bad = services.give_up_cycle(cycle=bad, reason="No water", by=jonas.by)
    services.record_corrective_action(
        cycle=bad,
        found="=HYPERLINK(0)",
        cause="Main off",
        done="Waited",
        product_affected="None",
        by=jonas.by,
    )
    client.force_login(a_person(venue, "inspector"))
    return client


def _csv(client, **words):
    text = client.get("/labels/cleaning-log.csv", words).content.decode("utf-8-sig")
    return list(csv.DictReader(StringIO(text)))


def test_the_columns_stand_in_the_order_an_inspector_reads():
    places = [COLUMNS.index(name) for name in INSPECTOR_READS]
    assert places == sorted(places)


def test_csv_says_what_the_page_says_and_is_narrowed_alike(inspector):
    bad, good = sorted(_csv(inspector), key=lambda row: row["Result"], reverse=True)[0:2][::-1]
    rows = {row["What"]: row for row in (bad, good)}
    assert rows["Line 3"]["Strength"] == "2.5 % (as dosed); between 100 mg/l and 150 mg/l (strip)"
    assert rows["Line 4"]["Corrective action"].startswith("'=HYPERLINK(0)")
    assert [row["What"] for row in _csv(inspector, result="complete")] == ["Line 3"]


def test_no_cell_of_the_spreadsheet_is_a_formula(inspector):
    book = load_workbook(BytesIO(inspector.get("/labels/cleaning-log.xlsx").content))
    cells = [cell for row in book.active.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} <= {"s", "inlineStr"}
    assert [cell.value for cell in next(book.active.iter_rows())] == list(COLUMNS)


def test_the_print_names_its_filters_and_the_head_of_the_ledger(inspector):
    answer = inspector.get("/labels/cleaning-log.pdf", {"result": "complete"})
    text = " ".join(PdfReader(BytesIO(answer.content)).pages[0].extract_text().split())
    assert "Result: Complete" in text
    assert "Ledger entry" in text
    assert "Line 3" in text
    assert "Line 4" not in text
