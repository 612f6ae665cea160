"""Text that people typed, in files that spreadsheet programs open."""

from io import BytesIO

import pytest
from openpyxl import Workbook, load_workbook

from kegsafe.frame.sheet_cells import csv_text, text_cell

# The beginnings that the OWASP page on CSV injection names. [second-hand]
FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"]


@pytest.mark.parametrize("typed", FORMULAS)
def test_a_csv_cell_never_begins_like_a_formula(typed):
    assert csv_text(typed) == f"'{typed}"


def test_other_text_stays_as_it_is_in_a_csv_cell():
    assert csv_text("Żubr & sons, 5 % = half") == "Żubr & sons, 5 % = half"


@pytest.mark.parametrize("typed", [*FORMULAS, "שלום", "🍋 lime", "<b>x</b>", "a\nb"])
def test_a_workbook_cell_keeps_what_was_typed_as_text(typed):
    found = _through_a_workbook(typed)
    assert (found.value, found.data_type) == (typed, "s")


def test_what_a_workbook_cannot_hold_is_left_out():
    assert _through_a_workbook("a\x00b\x0bc\ufffe").value == "abc"


def _through_a_workbook(typed):
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Any")
    sheet.append([text_cell(sheet, typed)])
    file = BytesIO()
    book.save(file)
    return load_workbook(file).active["A1"]
