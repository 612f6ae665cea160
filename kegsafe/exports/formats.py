"""A log as CSV, as JSON lines and as a workbook, row after row: none is ever held whole."""

import csv
import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import islice
from typing import IO, Any
from zoneinfo import ZoneInfo

from openpyxl import Workbook

from kegsafe.exports.logs.log import Log, Row, Value
from kegsafe.frame.sheet_cells import csv_text, text_cell

_ROWS_AT_ONCE = 500
MOST_ROWS_A_SHEET = 1_000_000  # a sheet of Office Open XML ends at 1 048 576 [from memory]


@dataclass(frozen=True, slots=True)
class Format:
    """One way to take a log away."""

    key: str
    label: str
    ending: str
    content_type: str
    # Streamed, or None for the workbook, which is a ZIP file and is made whole on disk.
    stream: Callable[[Log, Iterable[Row], ZoneInfo], Iterator[bytes]] | None


def heads(log: Log) -> list[str]:
    """Return the heads of a log; a moment has two columns."""
    return [
        head
        for column in log.columns
        for head in (
            (f"{column.head} (venue's time)", f"{column.head} (UTC)")
            if column.is_moment
            else (column.head,)
        )
    ]


def csv_blocks(log: Log, rows: Iterable[Row], zone: ZoneInfo) -> Iterator[bytes]:
    """Yield a log as CSV in UTF-8, with the mark that spreadsheet programs look for."""
    writer = csv.writer(_Handed())
    yield "\ufeff".encode() + writer.writerow(heads(log)).encode()
    for block in _blocks(rows):
        lines = (writer.writerow(map(_csv_cell, _cells(log, row, zone))) for row in block)
        yield "".join(lines).encode(errors="replace")


def json_blocks(log: Log, rows: Iterable[Row], zone: ZoneInfo) -> Iterator[bytes]:
    """Yield a log as JSON lines: one object a row, numbers as numbers, empty as null."""
    keys = [
        key
        for column in log.columns
        for key in ((column.key, f"{column.key}_utc") if column.is_moment else (column.key,))
    ]
    for block in _blocks(rows):
        lines = (
            json.dumps(dict(zip(keys, map(_json_value, _cells(log, row, zone)), strict=True)))
            for row in block
        )
        yield "".join(f"{line}\n" for line in lines).encode()


def write_workbook(log: Log, rows: Iterable[Row], zone: ZoneInfo, out: IO[bytes]) -> None:
    """Write a log as a workbook; numbers are numbers, everything else is text.

    openpyxl puts each row to disk as it comes. A log too long for a sheet goes on in the next.
    """
    book = Workbook(write_only=True)
    sheet = None
    for number, row in enumerate(rows):
        if number % MOST_ROWS_A_SHEET == 0:
            sheet = _new_sheet(book, log)
        sheet.append([_sheet_cell(sheet, value) for value in _cells(log, row, zone)])
    if sheet is None:
        _new_sheet(book, log)
    book.save(out)


def _new_sheet(book: Workbook, log: Log) -> Any:
    number = len(book.worksheets) + 1
    sheet = book.create_sheet(f"{log.title[:24]} {number}" if number > 1 else log.title[:31])
    sheet.append([text_cell(sheet, head) for head in heads(log)])
    return sheet


class _Handed:
    """What a csv writer writes to: it hands the line back at once."""

    def write(self, line: str) -> str:
        return line


def _blocks(rows: Iterable[Row]) -> Iterator[list[Row]]:
    remaining = iter(rows)
    while block := list(islice(remaining, _ROWS_AT_ONCE)):
        yield block


def _cells(log: Log, row: Row, zone: ZoneInfo) -> Iterator[Value]:
    for column, value in zip(log.columns, row, strict=True):
        if not column.is_moment:
            yield value
        elif isinstance(value, datetime):
            yield value.astimezone(zone).isoformat(timespec="seconds")
            yield value.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
        else:
            yield None
            yield None


def _csv_cell(value: Value) -> str:
    return csv_text(value) if isinstance(value, str) else _words(value)


def _json_value(value: Value) -> Any:
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    return value.isoformat() if isinstance(value, date) else value


def _sheet_cell(sheet: Any, value: Value) -> Any:
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        return value
    return text_cell(sheet, value if isinstance(value, str) else _words(value))


def _words(value: Value) -> str:
    """Return what is no text as it stands in a cell; not recorded is empty."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case Decimal():
            return f"{value:f}"
        case date():
            return value.isoformat()
    return str(value)


FORMATS = (
    Format("csv", "CSV", "csv", "text/csv; charset=utf-8", csv_blocks),
    Format(
        "xlsx",
        "Spreadsheet",
        "xlsx",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        None,
    ),
    Format("jsonl", "JSON lines", "jsonl", "application/jsonl; charset=utf-8", json_blocks),
)
