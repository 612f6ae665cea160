"""The table inside a logger file: where its rows begin, what each column seems to hold."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from kegsafe.cold_chain.log_file import moments, temperatures
from kegsafe.cold_chain.log_file.moments import NoMoment
from kegsafe.cold_chain.log_file.rows import cells_of
from kegsafe.cold_chain.log_file.shape import SEPARATORS, UnreadableLog

_LOOKED_AT = 400  # lines; enough to see through a long head of serial numbers and settings
_MOSTLY = 0.8
_SOMETIMES = 0.3

MOMENT, DAY, CLOCK, NUMBER, OTHER = "moment", "day", "clock", "number", "other"


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of a file under one separator.

    `first_row` is the line of the first row; `names` is the header above it, empty when there
    is none; `preamble` are the lines before both.
    """

    separator: str
    width: int
    first_row: int
    names: tuple[str, ...]
    preamble: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def column(self, index: int) -> list[str]:
        """Return the cells of a column."""
        return [row[index] for row in self.rows]

    def columns_of(self, *kinds: str, share: float = _MOSTLY) -> tuple[int, ...]:
        """Return the columns most cells of which are of a kind."""
        wanted = share * len(self.rows)
        return tuple(
            index
            for index in range(self.width)
            if sum(kind_of(cell) in kinds for cell in self.column(index)) >= wanted
        )

    def number_columns(self) -> tuple[int, ...]:
        """Return the columns of numbers; a channel may be empty in most rows."""
        return self.columns_of(NUMBER, share=_SOMETIMES)

    def name(self, index: int) -> str:
        """Return how a person calls a column: its number, its header or what it begins with."""
        if self.names and self.names[index].strip():
            return f"column {index + 1}, {self.names[index].strip()[:60]}"
        return f"column {index + 1}, such as {self.rows[0][index].strip()[:40]}"


def kind_of(cell: str) -> str:
    """Return what a cell looks like."""
    text = cell.strip()
    if temperatures.is_number(text):
        return NUMBER
    if _is_clock(text):
        return CLOCK
    if moments.is_day(text):
        return DAY
    return MOMENT if _is_moment(text) else OTHER


def _is_clock(text: str) -> bool:
    try:
        moments.clock_of(text)
    except NoMoment:
        return False
    return True


def _is_moment(text: str) -> bool:
    try:
        day, clock = moments.split(text)
    except NoMoment:
        return False
    return moments.is_day(day) and _is_clock(clock)


def find_table(lines: Sequence[str]) -> Table:
    """Return the table with the most rows over all separators; UnreadableLog when there is none."""
    looked_at = lines[:_LOOKED_AT]
    tables = [
        table for separator in SEPARATORS if (table := _table(looked_at, separator)) is not None
    ]
    if not tables:
        raise UnreadableLog(_nothing_found(looked_at))
    return max(tables, key=lambda table: (len(table.rows), table.width))


def _nothing_found(lines: Sequence[str]) -> str:
    first = next((line.strip() for line in lines if line.strip()), "")
    if not first:
        return "The file is empty. Export the log again and send that."
    return (
        "No row with a time and a temperature was found. The file begins "
        f'"{first[:60]}". Expected rows such as 2026-04-07 13:45,4.2.'
    )


def _table(lines: Sequence[str], separator: str) -> Table | None:
    split = [cells_of(line, separator) or [] for line in lines]
    fitting = [k for k, cells in enumerate(split) if _is_row(cells)]
    if not fitting:
        return None
    width = Counter(len(split[k]) for k in fitting).most_common(1)[0][0]
    kept = [k for k in fitting if len(split[k]) == width]
    first = kept[0]
    above = [k for k in range(first) if lines[k].strip()]
    header = split[above[-1]] if above else []
    has_names = len(header) == width and not _is_row(header)
    if not has_names and above:
        _refuse_split_decimals(split[first], header, separator)
    return Table(
        separator=separator,
        width=width,
        first_row=first + 1,
        names=tuple(header) if has_names else (),
        preamble=tuple(lines[k] for k in (above[:-1] if has_names else above)),
        rows=tuple(tuple(split[k]) for k in kept),
    )


def _is_row(cells: Sequence[str]) -> bool:
    kinds = {kind_of(cell) for cell in cells}
    return NUMBER in kinds and (MOMENT in kinds or {DAY, CLOCK} <= kinds)


def _refuse_split_decimals(row: Sequence[str], header: Sequence[str], separator: str) -> None:
    """Refuse 4,5 cut in two by a comma that separates cells too."""
    if separator == "," and 1 < len(header) < len(row):
        raise UnreadableLog(
            f"The header names {len(header)} columns and the rows have {len(row)}: it looks as if "
            "the comma both separates cells and marks decimals. Export with a semicolon between "
            "cells, or with decimal points."
        )
