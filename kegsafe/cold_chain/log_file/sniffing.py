"""What a logger file is, as far as it shows it, and what has to be asked.

Nothing is guessed: what two readings of the file would both fit is a question.
"""

import re
from collections.abc import Sequence
from itertools import pairwise

from kegsafe.cold_chain.log_file import moments, temperatures
from kegsafe.cold_chain.log_file.decoding import TOO_LONG, encoding_of
from kegsafe.cold_chain.log_file.moments import Clock, NoMoment
from kegsafe.cold_chain.log_file.rows import cells_of
from kegsafe.cold_chain.log_file.shape import (
    ORDER_WORDS,
    SEPARATORS,
    DateOrder,
    LogShape,
    Question,
    Sniffed,
    Unit,
    UnreadableLog,
)
from kegsafe.cold_chain.log_file.table import CLOCK, DAY, MOMENT, Table, find_table
from kegsafe.cold_chain.log_file.zones import zone_of

SNIFFED_BYTES = 4 * 1024 * 1024  # give sniff() this much of a file: a month shows its date order

_ENCODING_WORDS = {"utf-8-sig": "UTF-8", "cp1252": "Windows-1252"}
_TEMPERATURE = re.compile(r"temp|celsius|fahrenheit", re.IGNORECASE)
_OTHER_QUANTITY = re.compile(
    r"hum|\brh\b|%|dew|volt|batt|press|signal|rssi|lux|light|co2|set.?point|alarm|limit|door",
    re.IGNORECASE,
)
_COUNTER = re.compile(r"#|no\.?|nr\.?|index|id|record|row|reading|sample|count", re.IGNORECASE)
_ZONE_IN_NAME = re.compile(r"\b(?:UTC|GMT)\s*([+-]\s*[0-9]{1,2}(?::?[0-9]{2})?)?", re.IGNORECASE)


def sniff(content: bytes) -> Sniffed:
    """Return what the beginning of a file shows of its shape, and the questions left.

    content : the first SNIFFED_BYTES, or all of a shorter file

    Raises UnreadableLog when it is empty, no text, or holds no row with a time and a temperature.
    """
    encoding = encoding_of(content)
    lines = _lines(content, encoding)
    table = find_table(lines)
    times = _time_choices(table)
    values = _temperature_choices(table)
    time_columns = times[0] if len(times) == 1 else None
    column = values[0] if len(values) == 1 else None
    clocks = _clocks(table, times[0])
    has_offset = bool(clocks) and all(clock.offset_s is not None for clock in clocks)
    orders = _orders(lines, table, times[0])
    shape = LogShape(
        encoding=encoding,
        separator=table.separator,
        width=table.width,
        first_row=table.first_row,
        time_columns=time_columns,
        temperature_column=column,
        decimal=_decimal(table, values),
        unit=_unit(table, values),
        date_order=orders[0] if len(orders) == 1 else None,
        date_order_is_shown=len(orders) == 1,
        zone="UTC" if has_offset else _zone(table, times[0]),
        has_offset=has_offset,
        is_twelve_hour=bool(clocks) and all(clock.is_twelve_hour for clock in clocks),
        column_names=table.names,
    )
    return Sniffed(
        shape, _understood(shape, table), _questions(shape, table, times, values, orders)
    )


def _lines(content: bytes, encoding: str) -> list[str]:
    """Return the whole lines of the head; the last one may be cut and is left out if so."""
    text = content.decode(encoding, errors="replace")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if len(content) >= SNIFFED_BYTES and len(lines) > 1:
        lines.pop()
    return [line if len(line) <= 20_000 else TOO_LONG for line in lines]


def _time_choices(table: Table) -> list[tuple[int, ...]]:
    """Return the columns, or pairs of columns, that could be the time of a reading."""
    whole = [(index,) for index in table.columns_of(MOMENT)]
    if whole:
        return [*whole]
    pairs = [(d, c) for d in table.columns_of(DAY) for c in table.columns_of(CLOCK)]
    if not pairs:
        raise UnreadableLog(
            "The time stands in a different column from row to row. Export the log again."
        )
    return [*pairs]


def _temperature_choices(table: Table) -> list[int]:
    """Return the columns that could be the temperature."""
    numbers = [
        index
        for index in table.number_columns()
        if not _is_counter(table, index) and not _is_other_quantity(table, index)
    ]
    named = [index for index in numbers if table.names and _names_temperature(table.names[index])]
    if not numbers:
        raise UnreadableLog(
            "No column of temperatures was found. Columns of numbers such as humidity, battery or "
            "set point are left aside."
        )
    if not table.names and _are_halves_of_decimals(table, numbers):
        raise UnreadableLog(
            "The rows look as if the comma both separates cells and marks decimals. Export with a "
            "semicolon between cells, or with decimal points."
        )
    return named or numbers


def _names_temperature(name: str) -> bool:
    return bool(_TEMPERATURE.search(name) or temperatures.units_named(name))


def _is_other_quantity(table: Table, index: int) -> bool:
    return bool(table.names) and _OTHER_QUANTITY.search(table.names[index]) is not None


def _is_counter(table: Table, index: int) -> bool:
    """Say whether a column numbers the rows."""
    if table.names and _COUNTER.fullmatch(table.names[index].strip()):
        return True
    cells = [cell.strip() for cell in table.column(index)]
    if len(cells) < 3 or not all(cell.isascii() and cell.isdigit() for cell in cells):
        return False
    return all(int(b) - int(a) == 1 for a, b in pairwise(cells))


def _are_halves_of_decimals(table: Table, numbers: Sequence[int]) -> bool:
    """Say whether 4,5 may have been cut into a 4 and a 5."""
    if table.separator != "," or len(numbers) < 2 or len(numbers) % 2:
        return False
    cells = [cell.strip() for index in numbers for cell in table.column(index)]
    return all(re.fullmatch(r"[+-]?[0-9]+", cell) for cell in cells)


def _clocks(table: Table, columns: tuple[int, ...]) -> list[Clock]:
    clocks = []
    for row in table.rows:
        try:
            clocks.append(moments.clock_of(_day_and_clock(row, columns)[1]))
        except NoMoment:
            continue
    return clocks


def _day_and_clock(row: Sequence[str], columns: tuple[int, ...]) -> tuple[str, str]:
    if len(columns) == 2:
        return row[columns[0]], row[columns[1]]
    return moments.split(row[columns[0]])


def _orders(lines: Sequence[str], table: Table, columns: tuple[int, ...]) -> list[DateOrder]:
    """Return the orders that fit every date of the head; all that fit any, if they disagree."""
    texts = _day_texts(lines, table, columns)
    days = [text for text in texts if moments.is_day(text)]
    if days and all(moments.form_of(day) in {"named", "compact"} for day in days):
        return [DateOrder.YEAR_FIRST]  # reads the same in every order: nothing to choose
    each = [orders for day in days if (orders := moments.orders_of(day))]
    shared = set(DateOrder).intersection(*each)
    return [order for order in DateOrder if order in (shared or set().union(*each))]


def _day_texts(lines: Sequence[str], table: Table, columns: tuple[int, ...]) -> set[str]:
    found = set()
    for line in lines[table.first_row - 1 :]:
        cells = cells_of(line, table.separator)
        if cells is None or len(cells) != table.width:
            continue
        try:
            found.add(_day_and_clock(cells, columns)[0].strip())
        except NoMoment:
            continue
    return found


def _decimal(table: Table, values: Sequence[int]) -> str | None:
    """Return the decimal mark; a point where no number has one; None where they disagree."""
    marks = {temperatures.decimal_mark(cell) for index in values for cell in table.column(index)}
    marks.discard("")
    return None if len(marks) > 1 else next(iter(marks), ".")


def _unit(table: Table, columns: Sequence[int]) -> Unit | None:
    """Return the unit the cells, the header or the lines above it name; None if two or none."""
    cells = [cell for column in columns for cell in table.column(column)]
    carried = {unit for cell in cells if (unit := temperatures.unit_of_cell(cell)) is not None}
    headers = [table.names[column] for column in columns if table.names]
    named = {unit for header in headers for unit in temperatures.units_named(header)}
    above = {
        unit for line in table.preamble for unit in temperatures.units_named(_bare(line, table))
    }
    found = carried | named or above
    return next(iter(found)) if len(found) == 1 else None


def _bare(line: str, table: Table) -> str:
    return " ".join(cells_of(line, table.separator) or [line])


def _zone(table: Table, columns: tuple[int, ...]) -> str | None:
    """Return the zone a header names for the time: UTC, or an offset from it."""
    names = [table.names[index] for index in columns] if table.names else []
    found = next((match for name in names if (match := _ZONE_IN_NAME.search(name))), None)
    if found is None:
        return None
    if found[1] is None:
        return "UTC"
    offset = found[1].replace(" ", "")
    return offset if zone_of(offset) is not None else None


def _understood(shape: LogShape, table: Table) -> tuple[str, ...]:
    said = [
        f"Text in {_ENCODING_WORDS.get(shape.encoding, 'UTF-16')}, cells separated by "
        f"{SEPARATORS[shape.separator]}, {shape.width} in a row.",
        f"Readings begin on line {shape.first_row}.",
    ]
    if shape.time_columns is not None:
        where = " and ".join(table.name(index) for index in shape.time_columns)
        said.append(f"Time: {where}.")
    if shape.temperature_column is not None:
        said.append(f"Temperature: {table.name(shape.temperature_column)}.")
    if shape.unit is not None:
        said.append(f"Unit: {temperatures.UNIT_WORDS[shape.unit]}, as the file says.")
    if shape.decimal is not None:
        said.append(f"Decimals after a {'comma' if shape.decimal == ',' else 'point'}.")
    if shape.date_order is not None:
        said.append(f"Dates as {ORDER_WORDS[shape.date_order]}.")
    if shape.has_offset:
        said.append("Each time carries its own offset from UTC.")
    elif shape.zone is not None:
        said.append(f"Times in {shape.zone}, as the header says.")
    return tuple(said)


def _questions(
    shape: LogShape,
    table: Table,
    times: Sequence[tuple[int, ...]],
    values: Sequence[int],
    orders: Sequence[DateOrder],
) -> tuple[Question, ...]:
    asked = []
    if shape.time_columns is None:
        choices = tuple((each, " and ".join(table.name(i) for i in each)) for each in times)
        asked.append(Question("time_columns", "Which is the time of a reading?", choices))
    if shape.temperature_column is None:
        columns = tuple((each, table.name(each)) for each in values)
        asked.append(Question("temperature_column", "Which is this place's sensor?", columns))
    if shape.unit is None:
        units = tuple((unit, words) for unit, words in temperatures.UNIT_WORDS.items())
        asked.append(Question("unit", "Which unit are the temperatures in?", units))
    if shape.decimal is None:
        marks = ((".", "4.5 with a point"), (",", "4,5 with a comma"))
        asked.append(Question("decimal", "How are decimals written?", marks))
    if shape.date_order is None:
        words = tuple((order, ORDER_WORDS[order]) for order in orders)
        asked.append(Question("date_order", "In which order are dates written?", words))
    if shape.zone is None:
        asked.append(Question("zone", "Which time zone is the logger's clock set to?"))
    return tuple(asked)
