"""A file of deliveries as text: the layout, and reading it without guessing.

The layout is the project's own: one row for each lot, the columns below in any
order, comma, semicolon or tab between them, UTF-8. Knows nothing of venues.
"""

import csv
import io
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

COLUMNS: Mapping[str, str] = {
    "date_received": "Day it came, year-month-day: 2026-04-07",
    "time_received": "Time it came, hours:minutes: 09:30",
    "supplier": "Name of a supplier on the list",
    "document": "Delivery note or invoice number; may be empty",
    "ingredient": "Name of an ingredient on the list",
    "quantity": "Number with its unit: 700 ml, 5 kg, 12 pieces",
    "supplier_lot": "The maker's lot code from the pack; may be empty",
    "date_kind": "use_by, best_before or none",
    "date": "Date on the pack, year-month-day; empty when date_kind is none",
    "arrival_temperature": "Number with its unit: 3.5 °C or 38 °F; may be empty",
    "place": "Name of a place on the list; may be empty",
    "decision": "accept, hold or reject",
    "reason": "Why it was held or rejected; empty when accepted",
}
SAMPLE_ROW: Mapping[str, str] = {
    "date_received": "2026-04-07",
    "time_received": "09:30",
    "supplier": "Harbour Fruit Company",
    "document": "DN-1042",
    "ingredient": "Lime juice",
    "quantity": "5 L",
    "supplier_lot": "L26097",
    "date_kind": "use_by",
    "date": "2026-04-12",
    "arrival_temperature": "3.5 °C",
    "place": "Walk-in",
    "decision": "accept",
    "reason": "",
}
LARGEST_FILE_BYTES = 5 * 1024 * 1024
MOST_ROWS = 1_000  # an import holds the log for some ten seconds; others wait twenty
LONGEST_CELL = 2_000  # characters; the longest name on file has 120

_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
_UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class UnreadableFile(ValueError):
    """The file as a whole cannot be read; the text is a sentence for the person who sent it."""


@dataclass(frozen=True, slots=True)
class FileRow:
    """One row: the line it begins on and its cells by column, without outer spaces."""

    line: int
    cells: Mapping[str, str]
    trouble: str = ""


def refuse_a_large_file(size_bytes: int) -> None:
    """Raise UnreadableFile for more than is read: asked before a file is fetched into memory."""
    if size_bytes > LARGEST_FILE_BYTES:
        raise UnreadableFile(
            f"The file has {size_bytes / 1_048_576:.1f} MB, and at most "
            f"{LARGEST_FILE_BYTES // 1_048_576} MB are read. Split it by month, for example."
        )


def text_of(content: bytes) -> str:
    """Return the text of a file; UnreadableFile when it is too large, empty or no UTF-8 text."""
    refuse_a_large_file(len(content))
    if content.startswith(_UTF_16_MARKS):
        raise UnreadableFile(
            'The file is saved as UTF-16. Save it again as "CSV UTF-8" and send that.'
        )
    if b"\x00" in content:
        raise UnreadableFile("This is no text file. Send a CSV file: the sample shows how.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise UnreadableFile(
            f"Line {line} holds a character that is not UTF-8, so names may be wrong. "
            'Save the file again as "CSV UTF-8" and send that.'
        ) from None
    if not text.strip():
        raise UnreadableFile("The file is empty. The sample shows what belongs in it.")
    return text


def rows_of(text: str) -> tuple[FileRow, ...]:
    """Return the rows under the header, each with its line number in the file.

    Empty lines are passed over. A row with too many or too few cells carries its
    trouble instead of cells. Raises UnreadableFile for a header that lacks a
    column, has a strange or a second one, for a file without rows, with too many,
    or that is no CSV at all.
    """
    separator = _separator(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        lines = _not_blank(reader)
        header = [name.strip().lower() for name in next(lines)[1]]
        _check_header(header, separator)
        rows = tuple(_row(line, header, cells) for line, cells in _at_most(lines))
    except csv.Error as error:
        raise UnreadableFile(
            f"Line {reader.line_num} cannot be read: {error}. Put quotes around a text that holds "
            "a separator or a line break, and close each quote."
        ) from None
    if not rows:
        raise UnreadableFile("The file has a header and no rows. Write one row for each lot.")
    return rows


def sample() -> str:
    """Return the layout as a file: the header and one example row."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerow(SAMPLE_ROW[column] for column in COLUMNS)
    return out.getvalue()


def _separator(text: str) -> str:
    """The one that parts the header best: a name of a column holds none of the three."""
    header = next(line for line in text.splitlines() if line.strip())
    return max(_SEPARATORS, key=header.count)


def _not_blank(reader: Any) -> Iterator[tuple[int, list[str]]]:
    """Number each row by the line it begins on: a quoted cell may run over several."""
    begins_on = 1
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield begins_on, cells
        begins_on = reader.line_num + 1


def _at_most(rows: Iterator[tuple[int, list[str]]]) -> Iterator[tuple[int, list[str]]]:
    for number, row in enumerate(rows, start=1):
        if number > MOST_ROWS:
            raise UnreadableFile(
                f"The file has more than {MOST_ROWS} rows. Split it by month, for example."
            )
        yield row


def _check_header(header: Sequence[str], separator: str) -> None:
    counted = Counter(header)
    faults = (
        ("lacks", [name for name in COLUMNS if name not in counted]),
        ("has more than one", [name for name, times in counted.items() if times > 1]),
        ("has a strange column", [name for name in counted if name not in COLUMNS]),
    )
    for fault, names in faults:
        if names:
            shown = ", ".join(name[:40] or "a column without a name" for name in names[:13])
            raise UnreadableFile(
                f"The first line {fault}: {shown}. It must name the columns "
                f"{', '.join(COLUMNS)}, with a {_SEPARATORS[separator]} between them here."
            )


def _row(line: int, header: Sequence[str], cells: Sequence[str]) -> FileRow:
    if len(cells) != len(header):
        return FileRow(
            line,
            {},
            f"The row has {len(cells)} cells and the header {len(header)}. Put quotes around a "
            "text that holds a separator, and leave an empty cell where nothing is known.",
        )
    if any(len(cell) > LONGEST_CELL for cell in cells):
        return FileRow(line, {}, f"A cell has more than {LONGEST_CELL} characters. Shorten it.")
    named = zip(header, (cell.strip() for cell in cells), strict=True)
    return FileRow(line, dict(named))
