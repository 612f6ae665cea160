"""A long report on paper: nothing lost, nothing wider than its column, no heading alone."""

from datetime import UTC, datetime
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from kegsafe.reports.paper import Imprint, Paper
from kegsafe.reports.table_layout import DENSE, USUAL, Column, TableLayout, TableRow
from kegsafe.reports.text import Bold, lines_of, printable, width_of

COLUMNS = (Column("No.", 10), Column("What", 60), Column("Who", 30))
IMPRINT = Imprint("Report", "The Copper Finch", "entry 7", datetime(2026, 11, 3, 9, tzinfo=UTC))


class Written:
    """A report that is written by a test and read again."""

    def __init__(self) -> None:
        self.out = BytesIO()
        self.paper = Paper(self.out, "a4", IMPRINT)

    def pages(self) -> list[str]:
        """Return the words of each page."""
        self.paper.close()
        return [" ".join(page.extract_text().split()) for page in PdfReader(self.out).pages]


@pytest.fixture
def written():
    return Written()


def rows(count: int, what: str = "a row") -> list[TableRow]:
    return [TableRow((str(number), f"{what} {number}.", "mara")) for number in range(count)]


@given(text=st.text(max_size=200), width=st.floats(4, 200), bold=st.booleans())
def test_no_line_is_wider_than_its_cell_and_no_letter_is_lost(text, width, bold):
    lines = lines_of(text, width, 7, bold=bold)
    assert "".join(lines).replace(" ", "") == printable(text).replace(" ", "")
    # A single letter that is wider than the cell has nowhere else to go.
    assert all(width_of(line, 7, bold=bold) <= width or len(line) == 1 for line in lines)


@given(
    words=st.lists(st.text("abc ", max_size=400), min_size=3, max_size=3),
    below=st.lists(st.text("abc ", max_size=900), max_size=3),
    room=st.integers(10, 60),
    later=st.integers(20, 90),
)
def test_a_row_that_is_cut_over_pages_loses_no_line(words, below, room, later):
    layout = TableLayout(COLUMNS, 40, 300, USUAL)
    row = layout.wrap(TableRow(words, below))
    parts = list(row.parts(USUAL, room, later))

    def joined(cells):
        return ["".join(line for line in each.lines) for each in cells]

    for place, cell in enumerate(joined(row.cells)):
        assert "".join(joined(part.cells)[place] for part in parts) == cell
    assert "".join("".join(joined(part.below)) for part in parts) == "".join(joined(row.below))


def test_rows_are_counted_and_all_of_them_stand_on_paper(written):
    assert written.paper.table(COLUMNS, rows(200)) == 200
    text = " ".join(written.pages())
    assert all(f" {number} a row {number}. mara" in f" {text}" for number in range(200))


def test_no_row_at_all_draws_no_head(written):
    assert written.paper.table(COLUMNS, []) == 0
    written.paper.words("Nothing.")
    assert "What" not in written.pages()[0]


def test_the_heads_stand_on_each_page_of_a_table(written):
    written.paper.table(COLUMNS, rows(200))
    pages = written.pages()
    assert len(pages) > 2
    assert all("No. What Who" in page for page in pages)


def test_a_row_taller_than_a_page_goes_on_and_ends(written):
    words = " ".join(f"w{number}" for number in range(3_000))
    written.paper.table(COLUMNS, [TableRow(("1", words, "mara"), ("below it",))])
    pages = written.pages()
    text = " ".join(pages)
    assert len(pages) > 1
    assert all(f"w{number}" in text for number in (0, 1_500, 2_999))
    assert "below it" in pages[-1]


@pytest.mark.parametrize("above", range(40, 62))
def test_a_heading_is_never_the_last_thing_on_a_page(above):
    """Wherever on the page it comes, what it heads comes with it."""
    written = Written()
    written.paper.section("Part")
    written.paper.table(COLUMNS, rows(above))
    written.paper.heading("The heading")
    written.paper.words("Said under it.", with_next=True)
    written.paper.table(COLUMNS, rows(1, "headed"))
    [page] = [page for page in written.pages() if "The heading" in page]
    assert "Said under it." in page
    assert "headed 0." in page


def test_a_section_begins_on_its_own_page_where_little_is_left(written):
    written.paper.section("First")
    written.paper.table(COLUMNS, rows(40))
    written.paper.section("Second")
    written.paper.words("Words.")
    first, second = written.pages()
    assert "Second" not in first
    # The head of the page names what stands on it and nothing of the page before.
    assert "First" not in second


def test_a_section_goes_on_where_there_is_room(written):
    written.paper.section("First")
    written.paper.words("Words.")
    written.paper.section("Second")
    written.paper.words("Words.")
    [page] = written.pages()
    assert "First · Second" in page


def test_pages_turn_across_and_back(written):
    written.paper.section("Upright")
    written.paper.words("Words.")
    written.paper.section("Across", across=True)
    written.paper.words("Words.")
    written.paper.section("Upright again")
    written.paper.words("Words.")
    written.pages()
    boxes = [page.mediabox for page in PdfReader(written.out).pages]
    assert [box.width > box.height for box in boxes] == [False, True, False]


def test_in_a_dense_table_what_is_bold_is_framed(written):
    def marks(cell: str | Bold) -> int:
        report = Written()
        report.paper.table((Column("7", 1),), [TableRow((cell,))], is_dense=True)
        report.paper.close()
        return PdfReader(report.out).pages[0].get_contents().get_data().count(b" re")

    assert marks(Bold("7.2")) == marks("7.2") + 1
    assert DENSE.frames_bold


def test_the_file_bears_the_moment_it_was_given_and_no_clocks(written):
    written.paper.words("Words.")
    written.pages()
    made = PdfReader(written.out).metadata
    assert made.creation_date == IMPRINT.made_at
    assert made.title == "Report"
