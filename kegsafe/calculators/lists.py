"""Lists as people bring them: parts as JSON or one a line, temperature logs as CSV."""

import csv
import io
import json
import re
from collections.abc import Sequence
from datetime import datetime

from kegsafe.calculators.calculator import Input, LogInput, PartsInput, Refused
from kegsafe.quantities import Kind, Quantity, UnreadableQuantity, in_unit, read
from kegsafe.quantities.refusals import shown

MOST_PARTS = 100
MOST_READINGS = 20_000
MOST_CHARACTERS = 2_000_000

_UNIT_IN_HEADER = re.compile(r"[(\[]([^)\]]{1,12})[)\]]\s*$")
_NUMBER_ALONE = re.compile(r"\s*[+-]?[0-9]+([.,][0-9]+)?\s*")

Rows = list[list[str]]


class NoTime(ValueError):
    """A cell that is neither a moment nor a length of time. `str()` is a sentence for people."""


def read_parts(listed: PartsInput, text: str) -> list[list[Quantity | None]]:
    """Read the rows of a list. Raises Refused, naming the row and what belongs in it."""
    _refuse_long(listed.key, text)
    rows = _from_json(listed, text) if text.lstrip().startswith(("[", "{")) else _from_lines(text)
    if not rows:
        raise _refused(listed, "The list is empty.")
    if len(rows) > MOST_PARTS:
        raise _refused(listed, f"The list has {len(rows)} rows; at most {MOST_PARTS} are taken.")
    return [_part(listed, number, row) for number, row in enumerate(rows, start=1)]


def as_lines(json_rows: str) -> str:
    """Rows of JSON as somebody types them on a page, one a line."""
    return "\n".join(", ".join(row) for row in json.loads(json_rows))


def read_log(log: LogInput, text: str) -> list[tuple[float, float]]:
    """Read a temperature log as (hours since its first reading, degC), in order of time.

    Times are all moments such as 2026-04-07 18:30, or all lengths of time such as 30 min.
    A header may carry the units, as loggers write it: "time (h),temperature (°C)".
    Raises Refused, naming the line.
    """
    _refuse_long(log.key, text)
    rows = _from_lines(text)
    units = ["", ""]
    first = 1
    if rows and not any(character.isdigit() for cell in rows[0] for character in cell):
        units = [_unit_in(cell) for cell in rows[0]]
        rows, first = rows[1:], 2
    if not rows:
        raise Refused.at(log.key, "The log is empty. Write one time and one temperature a line.")
    if len(rows) > MOST_READINGS:
        most = f"at most {MOST_READINGS} are taken"
        raise Refused.at(log.key, f"The log has {len(rows)} readings; {most}.")
    readings = [_reading(log, line, row, units) for line, row in enumerate(rows, start=first)]
    return _in_hours(log, readings)


def _refuse_long(key: str, text: str) -> None:
    if len(text) > MOST_CHARACTERS:
        raise Refused.at(key, "The list is longer than two million characters; shorten it.")


def _refused(listed: PartsInput, trouble: str) -> Refused:
    columns = ", ".join(
        column.label.lower() + ("" if column.needed else " (may be left out)")
        for column in listed.columns
    )
    row = [column.example for column in listed.columns if column.example]
    example = json.dumps([row], ensure_ascii=False)
    advice = f"A row holds: {columns}. Write the list like this: {example}."
    return Refused.at(listed.key, f"{trouble} {advice}")


def _from_json(listed: PartsInput, text: str) -> Rows:
    try:
        rows = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        place = f" at character {error.pos + 1}" if isinstance(error, json.JSONDecodeError) else ""
        raise _refused(listed, f"This is no list in JSON: it breaks off{place}.") from None
    if not isinstance(rows, list) or not all(isinstance(row, list) for row in rows):
        raise _refused(listed, "This JSON is not a list of rows.")
    if not all(isinstance(cell, str) for row in rows for cell in row):
        raise _refused(listed, "Each figure stands between quotes with its unit.")
    return rows


def _from_lines(text: str) -> Rows:
    """Rows of a table with commas, semicolons or tabs between the cells."""
    first = text.lstrip().partition("\n")[0]
    delimiter = next((mark for mark in (";", "\t") if mark in first), ",")
    # A bare carriage return inside a line is a line end of old, not an error of the reader.
    lines = io.StringIO(text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", ""))
    reader = csv.reader(lines, delimiter=delimiter, quoting=csv.QUOTE_NONE)
    stripped = ([cell.strip().strip('"') for cell in row] for row in reader)
    return [row for row in stripped if any(row)]


def _part(listed: PartsInput, number: int, row: Sequence[str]) -> list[Quantity | None]:
    needed = sum(column.needed for column in listed.columns)
    if not needed <= len(row) <= len(listed.columns):
        raise _refused(listed, f"Row {number} has {len(row)} cells.")
    cells = [*row, *[""] * (len(listed.columns) - len(row))]
    return [
        _cell(listed, number, column, cell)
        for column, cell in zip(listed.columns, cells, strict=True)
    ]


def _cell(listed: PartsInput, number: int, column: Input, cell: str) -> Quantity | None:
    if not cell.strip():
        if column.needed:
            raise _refused(listed, f"Row {number} has no {column.label.lower()}.")
        return None
    try:
        return read(cell, column.kind)
    except UnreadableQuantity as refusal:
        raise Refused.at(listed.key, f"Row {number}: {refusal}") from None


def _unit_in(cell: str) -> str:
    found = _UNIT_IN_HEADER.search(cell)
    return found[1] if found else ""


def _reading(
    log: LogInput, line: int, row: Sequence[str], units: Sequence[str]
) -> tuple[datetime | float, float]:
    if len(row) != 2:
        cells = "1 cell" if len(row) == 1 else f"{len(row)} cells"
        trouble = f"Line {line} has {cells}; a time and a temperature belong there."
        raise Refused.at(log.key, f"{trouble} Write it like this: {log.example.splitlines()[0]}.")
    try:
        time = _time(_with_unit(row[0], units[0]))
        temperature = read(_with_unit(row[1], units[-1]), Kind.TEMPERATURE)
    except (NoTime, UnreadableQuantity) as refusal:
        raise Refused.at(log.key, f"Line {line}: {refusal}") from None
    return time, float(temperature.value)


def _with_unit(cell: str, unit: str) -> str:
    return f"{cell} {unit}" if unit and _NUMBER_ALONE.fullmatch(cell) else cell


def _time(cell: str) -> datetime | float:
    """A moment, or hours on the log's own clock. Raises NoTime."""
    try:
        return datetime.fromisoformat(cell)
    except ValueError:
        pass
    try:
        return float(in_unit(read(cell, Kind.TIME), "h"))
    except UnreadableQuantity:
        raise NoTime(
            f"{shown(cell)} is no time. Write a moment as 2026-04-07 18:30 or a length of time "
            "as 30 min."
        ) from None


def _in_hours(
    log: LogInput, readings: Sequence[tuple[datetime | float, float]]
) -> list[tuple[float, float]]:
    moments = [at for at, _ in readings if isinstance(at, datetime)]
    if moments and len(moments) < len(readings):
        raise Refused.at(log.key, "Some lines give moments and some lengths of time. Use one kind.")
    if len({moment.tzinfo is None for moment in moments}) > 1:
        raise Refused.at(log.key, "Some moments carry their offset and some do not. Use one kind.")
    moments.sort()
    in_hours = [(_hours_since(moments, at), degc) for at, degc in readings]
    _refuse_twice(log, in_hours)
    return sorted(in_hours)


def _hours_since(moments: Sequence[datetime], at: datetime | float) -> float:
    """Hours since the first reading; lengths of time count on a clock of their own."""
    if isinstance(at, datetime):
        return (at - moments[0]).total_seconds() / 3600.0
    return at


def _refuse_twice(log: LogInput, readings: Sequence[tuple[float, float]]) -> None:
    seen: set[float] = set()
    for hours, degc in readings:
        if hours in seen:
            trouble = f"Two readings stand at one time; one of them is {shown(f'{degc:g} °C')}."
            raise Refused.at(log.key, f"{trouble} Leave the right one.")
        seen.add(hours)
