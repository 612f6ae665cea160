"""A file of deliveries is read without guessing, or refused with a sentence that helps."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.stock.importing.delivery_file import (
    COLUMNS,
    LARGEST_FILE_BYTES,
    MOST_ROWS,
    SAMPLE_ROW,
    UnreadableFile,
    rows_of,
    sample,
    text_of,
)

HEADER = ",".join(COLUMNS)


def a_row(**cells: str) -> str:
    return ",".join({**SAMPLE_ROW, **cells}[column] for column in COLUMNS)


def a_file(*rows: str) -> str:
    return "\r\n".join([HEADER, *rows])


def refusal(read, *args) -> str:
    with pytest.raises(UnreadableFile) as refused:
        read(*args)
    return str(refused.value)


def test_the_sample_is_read_as_its_one_row():
    [row] = rows_of(text_of(sample().encode()))
    assert (row.line, row.cells) == (2, dict(SAMPLE_ROW))


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "with a mark"])
def test_utf_8_is_read_with_and_without_its_mark(mark):
    [row] = rows_of(text_of(mark + a_file(a_row(supplier="Café Søndergård")).encode()))
    assert row.cells["supplier"] == "Café Søndergård"


@pytest.mark.parametrize("separator", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
def test_the_separator_is_found_from_the_header(separator):
    out = io.StringIO()
    writer = csv.DictWriter(out, list(COLUMNS), delimiter=separator)
    writer.writeheader()
    writer.writerow({**SAMPLE_ROW, "reason": "a; b, c"})
    [row] = rows_of(out.getvalue())
    assert row.cells["reason"] == "a; b, c"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["unix", "windows", "old mac"])
def test_every_kind_of_line_end_is_read(end):
    assert len(rows_of(end.join([HEADER, a_row(), a_row()]))) == 2


def test_the_columns_may_stand_in_any_order_and_case():
    columns = [name.upper() for name in reversed(COLUMNS)]
    cells = [SAMPLE_ROW[name.lower()] for name in columns]
    [row] = rows_of(f"{','.join(columns)}\n{','.join(cells)}")
    assert row.cells == dict(SAMPLE_ROW)


def test_a_quoted_line_break_belongs_to_its_cell_and_the_next_line_keeps_its_number():
    first, second = rows_of(a_file(a_row(reason='"warm\nand wet"'), a_row()))
    assert (first.line, first.cells["reason"]) == (2, "warm\nand wet")
    assert second.line == 4


def test_empty_lines_are_passed_over_and_counted():
    [row] = rows_of(f"{HEADER}\n\n{',' * (len(COLUMNS) - 1)}\n{a_row()}\n\n")
    assert row.line == 4


def test_a_cell_that_looks_like_a_formula_stays_text():
    [row] = rows_of(a_file(a_row(supplier_lot="=HYPERLINK(0)", document="@SUM", reason="+1")))
    assert (row.cells["supplier_lot"], row.cells["document"]) == ("=HYPERLINK(0)", "@SUM")


def test_a_row_with_a_cell_too_many_carries_its_trouble_and_no_cells():
    bad, good = rows_of(a_file(a_row() + ",extra", a_row()))
    assert (bad.line, bad.cells) == (2, {})
    assert "14 cells and the header 13" in bad.trouble
    assert good.trouble == ""


def test_a_very_long_cell_is_the_trouble_of_its_row():
    [row] = rows_of(a_file(a_row(reason="x" * 2_001)))
    assert "2000 characters" in row.trouble


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty"),
        (b" \r\n\t\n", "The file is empty"),
        (b"PK\x03\x04\x00\x00", "no text file"),
        (b"a,b\n\xe9,1", "Line 2 holds a character that is not UTF-8"),
        ("a,b".encode("utf-16"), "UTF-16"),
        (b"x" * (LARGEST_FILE_BYTES + 1), "at most 5 MB"),
    ],
    ids=["empty", "blank", "binary", "latin 1", "utf-16", "too large"],
)
def test_what_is_no_text_of_ours_is_refused_with_a_sentence(content, words):
    assert words in refusal(text_of, content)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEADER, "no rows"),
        (HEADER.replace(",place", "") + "\n1", "lacks: place"),
        (HEADER + ",place\n1", "more than one: place"),
        (HEADER + ",colour\n1", "a strange column: colour"),
        ("nothing like it\n1", "lacks: date_received"),
        (a_file('"never closed'), "Line 2 cannot be read"),
        (a_file("x" * 10_000_000), "cannot be read"),
        (a_file(*[a_row()] * (MOST_ROWS + 1)), "more than 1000 rows"),
    ],
    ids=[
        "header only",
        "missing column",
        "column twice",
        "strange column",
        "another header",
        "open quote",
        "one line of 10 MB",
        "too many rows",
    ],
)
def test_what_is_no_file_of_deliveries_is_refused_with_a_sentence(text, words):
    assert words in refusal(rows_of, text)


def _rows_or_sentence(content: bytes) -> tuple:
    try:
        return rows_of(text_of(content))
    except UnreadableFile as trouble:
        return (str(trouble),)


@given(st.binary(max_size=300))
def test_whatever_is_sent_is_read_or_refused_and_nothing_else(content):
    assert _rows_or_sentence(content)


@given(st.text(max_size=300))
def test_whatever_stands_under_the_header_is_read_or_refused_with_a_sentence(text):
    for found in _rows_or_sentence(f"{HEADER}\n{text}".encode("utf-8", "replace")):
        if isinstance(found, str):
            assert found.endswith(".")
        else:
            assert found.trouble or set(found.cells) == set(COLUMNS)
