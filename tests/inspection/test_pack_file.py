"""A pack as a file: the same bytes for the same record, fonts, bookmarks, pages, rows beside it."""

import csv
import re
import zipfile
from datetime import date, timedelta
from hashlib import sha256
from io import BytesIO, StringIO
from shutil import which
from subprocess import run

import pytest
from pypdf import PdfReader

from kegsafe.benchmarks.year_of_a_bar import Size, YearOfABar
from kegsafe.inspection.row_files import RowFiles
from kegsafe.inspection.sections import CHOICES, SECTIONS, chosen
from kegsafe.inspection.writing import write_pack
from kegsafe.reports.paper import PAPERS
from tests.inspection.pack_reading import pdf_of, scope_of

pytestmark = pytest.mark.django_db

# ISO 216: A4 is 210 x 297 mm. ANSI/ASME Y14.1: letter is 8.5 x 11 in. [memory] One point: 1/72 in.
SIDES = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "letter": (8.5 * 72, 11 * 72)}


@pytest.fixture
def bar():
    return YearOfABar(date(2025, 10, 27), Size(days=9, kegs=3, lines=3, places=2, lots_a_day=2))


@pytest.fixture
def scope(bar):
    return scope_of(bar.venue, bar.first, bar.last, bar.at(9, 12))


def _again(scope):
    """The same scope with nothing looked up yet."""
    return scope_of(scope.venue, scope.first, scope.last, scope.made_at)


def test_the_same_record_gives_the_same_bytes(scope):
    assert pdf_of(scope) == pdf_of(_again(scope))


def test_the_zip_of_its_rows_has_the_same_bytes_too(scope, tmp_path):
    def zipped(of):
        out, pdf = BytesIO(), tmp_path / "pack.pdf"
        with RowFiles(out, of.made_at) as files, pdf.open("wb") as file:
            write_pack(of, SECTIONS, file, paper="a4", files=files)
            file.flush()
            files.add_pack(pdf)
        return out.getvalue()

    assert zipped(scope) == zipped(_again(scope))


def test_a_later_moment_gives_another_pack(scope):
    later = scope_of(scope.venue, scope.first, scope.last, scope.made_at + timedelta(minutes=1))
    assert pdf_of(scope) != pdf_of(later)


def test_every_font_is_embedded(scope, tmp_path):
    pdf = pdf_of(scope)
    fonts = [
        font.get_object()
        for page in PdfReader(BytesIO(pdf)).pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"].get_object() for font in fonts)


@pytest.mark.skipif(not which("pdffonts"), reason="poppler's pdffonts is not installed")
def test_pdffonts_finds_no_font_that_is_not_embedded(scope, tmp_path):
    path = tmp_path / "pack.pdf"
    path.write_bytes(pdf_of(scope))
    said = run(["pdffonts", str(path)], capture_output=True, text=True, check=True).stdout
    rows = said.splitlines()[2:]
    assert rows
    assert all(re.search(r"\byes\s+(yes|no)\s+(yes|no)\s+\d+\s+\d+$", row) for row in rows)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_page_is_of_the_paper_asked_for_upright_or_across(scope, paper):
    short, long = SIDES[paper]
    for page in PdfReader(BytesIO(pdf_of(scope, paper))).pages:
        sides = sorted((float(page.mediabox.width), float(page.mediabox.height)))
        assert sides == pytest.approx([short, long], abs=0.5)


def test_every_section_has_a_bookmark_in_the_order_of_the_pack(scope):
    outline = PdfReader(BytesIO(pdf_of(scope))).outline
    titles = [entry.title for entry in outline if not isinstance(entry, list)]
    expected = ["Inspection pack", "Summary", *(section.title for section in SECTIONS)]
    assert titles == [*expected, "How to check this pack"]


def test_every_page_says_which_it_is_and_of_how_many(scope):
    pages = PdfReader(BytesIO(pdf_of(scope))).pages
    for number, page in enumerate(pages, 1):
        words = " ".join(page.extract_text().split())
        assert f"Page {number} of {len(pages)} Ledger entry {scope.chain.head_sequence}" in words


def test_the_page_of_a_section_is_the_one_the_cover_names(scope):
    reader = PdfReader(BytesIO(pdf_of(scope)))
    cover = " ".join(reader.pages[0].extract_text().split())
    for entry in reader.outline:
        if not isinstance(entry, list) and entry.title != "Inspection pack":
            assert f"{entry.title} {reader.get_destination_page_number(entry) + 1}" in cover


def test_no_page_ends_with_a_heading(scope):
    """Each heading of the outline stands well above the foot of its page."""
    reader = PdfReader(BytesIO(pdf_of(scope)))
    flat = [
        entry for each in reader.outline for entry in (each if isinstance(each, list) else [each])
    ]
    assert flat
    # Room for a table's head and one row below the heading: 17 mm foot and 12 mm more.
    assert all(entry.top is None or entry.top > 29 / 25.4 * 72 for entry in flat)


def test_the_heads_of_a_table_stand_on_each_of_its_pages(scope):
    texts = [page.extract_text() for page in PdfReader(BytesIO(pdf_of(scope))).pages]
    pages = [" ".join(text.split()) for text in texts]
    with_cycles = [page for page in pages if re.search(r"\(version \d\) (Complete|Failed)", page)]
    assert len(with_cycles) > 1
    assert all("Chemical and batch Strength" in page for page in with_cycles)


def test_a_section_that_nobody_chose_is_left_out_and_the_cautions_never(scope):
    out = BytesIO()
    write_pack(scope, chosen(["fills"]), out, paper="a4")
    titles = [e.title for e in PdfReader(out).outline if not isinstance(e, list)]
    assert titles == [
        "Inspection pack",
        "Summary",
        "Fills and use-by dates",
        "Cautions, and who decides",
        "How to check this pack",
    ]


def test_a_section_that_is_none_is_refused_by_name():
    with pytest.raises(ValueError, match='"gossip" is no section'):
        chosen(["gossip"])


def test_the_rows_beside_a_pack_are_those_in_it(scope, tmp_path):
    out, pdf = BytesIO(), tmp_path / "pack.pdf"
    with RowFiles(out, scope.made_at) as files:
        with pdf.open("wb") as file:
            written = write_pack(scope, SECTIONS, file, paper="a4", files=files)
        files.add_pack(pdf)
    with zipfile.ZipFile(out) as rows:
        index = list(csv.DictReader(StringIO(rows.read("index.csv").decode("utf-8-sig"))))
        assert [row["File"] for row in index] == [
            "inspection-pack.pdf",
            *(f"{name}.csv" for name in written.counts),
        ]
        for row in index:
            assert sha256(rows.read(row["File"])).hexdigest() == row["SHA-256"]
        fills = list(csv.DictReader(StringIO(rows.read("fills.csv").decode("utf-8-sig"))))
        assert len(fills) == written.counts["fills"] == scope.venue.batches.count()
        assert rows.read("inspection-pack.pdf") == pdf.read_bytes()


def test_every_section_but_the_cautions_may_be_left_out():
    assert {key for key, _ in CHOICES} == {each.key for each in SECTIONS} - {"cautions"}
