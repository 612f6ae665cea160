"""Reads the dated, cited tables of shared/, and says plainly what is wrong with a row."""

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

# How well somebody checked the row. A new word belongs here before it belongs in a table.
VERIFIED_TAGS = (
    "read",
    "read (part)",
    "second-hand",
    "memory",
    "computed",
    "house",
    "venue",
    "common practice",
)

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class BadRuleData(Exception):
    """A file of shared/ cannot be trusted: names the file, the place and what was expected."""


def place_of(path: Path) -> str:
    """Return the last two parts of a path: enough to find the file, nothing about the machine."""
    return "/".join(path.parts[-2:])


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table, with the line it stands on for a message that can be followed."""

    path: Path
    line: int
    cells: dict[str, str]

    def wrong(self, column: str, expected: str) -> BadRuleData:
        """Return the error for one cell: where it is, what stands there, what belongs there."""
        found = self.cells.get(column, "")
        return BadRuleData(
            f'{place_of(self.path)}, line {self.line}, "{column}": found "{found}". '
            f"Expected {expected}."
        )

    def optional(self, column: str) -> str:
        """Return the cell without outer spaces; an empty cell is an empty text."""
        return self.cells[column].strip()

    def text(self, column: str) -> str:
        """Return a cell that may not be empty."""
        value = self.optional(column)
        if not value:
            raise self.wrong(column, "a text; this cell may not be empty")
        return value

    def number(self, column: str) -> Decimal:
        """Return a plain decimal number; no exponent, no unit, no infinity."""
        value = self.optional(column)
        if not _NUMBER.fullmatch(value):
            raise self.wrong(column, "a plain number, for example 5.0")
        return Decimal(value)

    def optional_number(self, column: str) -> Decimal | None:
        """Return a number, or None where the cell is empty."""
        return self.number(column) if self.optional(column) else None

    def whole_number(self, column: str) -> int:
        """Return a whole number of one or more."""
        number = self.number(column)
        if number < 1 or number != number.to_integral_value():
            raise self.wrong(column, "a whole number of 1 or more, for example 7")
        return int(number)

    def day(self, column: str) -> date:
        """Return a calendar date written year-month-day."""
        value = self.optional(column)
        if _DAY.fullmatch(value):
            try:
                return date.fromisoformat(value)
            except ValueError:
                pass
        raise self.wrong(column, "a date written year-month-day, for example 2026-04-07")

    def one_of(self, column: str, words: Sequence[str]) -> str:
        """Return a cell that must hold one of the given words."""
        value = self.optional(column)
        if value not in words:
            raise self.wrong(column, "one of: " + ", ".join(words))
        return value

    def flag(self, column: str) -> bool:
        """Return yes or no as a claim."""
        return self.one_of(column, ("yes", "no")) == "yes"

    def keys(self, column: str) -> tuple[str, ...]:
        """Return the words of a cell, separated by spaces; an empty cell has none."""
        return tuple(self.cells[column].split())

    def verified(self) -> str:
        """Return how well the row was checked."""
        return self.one_of("verified", VERIFIED_TAGS)


def read_text(path: Path) -> str:
    """Return a UTF-8 file as text, or say which file is missing or badly encoded."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise BadRuleData(f"{place_of(path)}: the file is missing.") from None
    except UnicodeDecodeError as error:
        raise BadRuleData(
            f"{place_of(path)}: byte {error.start} is not UTF-8. Expected a file saved as UTF-8."
        ) from error


def read_rows(path: Path, columns: Sequence[str]) -> tuple[Row, ...]:
    """Return the rows of a CSV file that has exactly these columns, in any order.

    Raises BadRuleData for a missing, strange or repeated column, for a row with too few or
    too many cells, for a file without rows, and for what is not CSV in UTF-8.
    """
    reader = csv.reader(io.StringIO(read_text(path), newline=""), strict=True)
    try:
        header = next(reader, [])
        _check_header(path, header, columns)
        rows = tuple(_row(path, reader.line_num, header, cells) for cells in reader if cells)
    except csv.Error as error:
        raise BadRuleData(
            f"{place_of(path)}, line {reader.line_num}: {error}. Expected comma-separated cells."
        ) from error
    if not rows:
        raise BadRuleData(f"{place_of(path)}: no rows. Expected at least one under the header.")
    return rows


def _check_header(path: Path, header: list[str], columns: Sequence[str]) -> None:
    missing = [column for column in columns if column not in header]
    strange = [column for column in header if column not in columns]
    repeated = sorted({column for column in header if header.count(column) > 1})
    for fault, names in (("missing", missing), ("unknown", strange), ("repeated", repeated)):
        if names:
            raise BadRuleData(
                f"{place_of(path)}, line 1: {fault} column: {', '.join(names)}. "
                f"Expected the columns {', '.join(columns)}."
            )


def _row(path: Path, line: int, header: list[str], cells: list[str]) -> Row:
    if len(cells) != len(header):
        raise BadRuleData(
            f"{place_of(path)}, line {line}: {len(cells)} cells. "
            f"Expected {len(header)}; put quotes around a cell that holds a comma."
        )
    return Row(path, line, dict(zip(header, cells, strict=True)))
