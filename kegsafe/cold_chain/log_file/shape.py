"""What a logger file looks like: understood from the file, or chosen by a person.

A shape is remembered for a logger, so it goes to JSON and back.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import Any

from kegsafe.cold_chain.log_file.zones import zone_of

SEPARATORS: Mapping[str, str] = {"\t": "tab", ";": "semicolon", ",": "comma", "|": "bar"}


class UnreadableLog(ValueError):
    """The file as a whole cannot be read; the text is a sentence for the person who sent it."""


class DateOrder(StrEnum):
    """In which order a date of three numbers is written."""

    YEAR_FIRST = "ymd"
    DAY_FIRST = "dmy"
    MONTH_FIRST = "mdy"


ORDER_WORDS: Mapping[DateOrder, str] = {
    DateOrder.YEAR_FIRST: "year, month, day",
    DateOrder.DAY_FIRST: "day, month, year",
    DateOrder.MONTH_FIRST: "month, day, year",
}


class Unit(StrEnum):
    """What the temperatures of a file are written in."""

    CELSIUS = "degC"
    FAHRENHEIT = "degF"


@dataclass(frozen=True, slots=True, kw_only=True)
class LogShape:
    """How to read a logger file. None: not shown by the file and not yet chosen.

    Attributes
    ----------
    encoding : name of a Python codec
    separator : one of SEPARATORS
    width : cells of a row, 2 or more
    first_row : line the readings begin on, 1 or more
    time_columns : index of the column with day and clock, or of the two with one each
    temperature_column : index; the first column is 0
    decimal : "." or ","
    date_order_is_shown : a date of the file fits no other order
    zone : IANA name, "UTC" or an offset such as "+01:00"
    has_offset : each time carries its own offset
    is_twelve_hour : each time carries am or pm
    column_names : as the header has them; empty without a header
    """

    encoding: str
    separator: str
    width: int
    first_row: int
    time_columns: tuple[int, ...] | None
    temperature_column: int | None
    decimal: str | None
    unit: Unit | None
    date_order: DateOrder | None
    date_order_is_shown: bool
    zone: str | None
    has_offset: bool
    is_twelve_hour: bool
    column_names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what no reader could follow; UnreadableLog says what."""
        columns = [*(self.time_columns or ()), self.temperature_column]
        if not all(each is None or 0 <= each < self.width for each in columns):
            raise UnreadableLog(f"A row has {self.width} cells; a column beyond them was chosen.")
        if self.time_columns is not None and len(self.time_columns) not in {1, 2}:
            raise UnreadableLog("Choose one column for the time, or one for day and one for clock.")
        if len(columns) != len(set(columns)):
            raise UnreadableLog("Time and temperature were chosen from the same column.")
        if self.separator not in SEPARATORS or self.decimal not in {None, ".", ","}:
            raise UnreadableLog(
                "Choose tab, semicolon, comma or bar, and a decimal point or comma."
            )
        if self.zone is not None and zone_of(self.zone) is None:
            raise UnreadableLog(
                f'"{self.zone[:60]}" is no time zone. Write Europe/London, UTC or +01:00.'
            )

    @property
    def is_whole(self) -> bool:
        """Say whether nothing is left to choose."""
        chosen = (self.time_columns, self.temperature_column, self.decimal, self.unit)
        return None not in (*chosen, self.date_order, self.zone)

    def chosen(self, **answers: Any) -> "LogShape":
        """Return the shape with a person's answers by field name; UnreadableLog for a bad one."""
        try:
            typed = {name: _typed(name, value) for name, value in answers.items()}
            if typed.get("date_order", self.date_order) is not self.date_order:
                typed["date_order_is_shown"] = False
            return replace(self, **typed)
        except UnreadableLog:
            raise
        except (TypeError, ValueError) as error:
            raise UnreadableLog(f"This choice does not fit the file: {error}.") from None

    def as_json(self) -> dict[str, Any]:
        """Return the shape as it is kept for a logger."""
        return asdict(self)

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> "LogShape":
        """Return a shape that was kept; UnreadableLog when it is no longer understood."""
        try:
            return cls(**{name: _typed(name, value) for name, value in kept.items()})
        except UnreadableLog:
            raise
        except (TypeError, ValueError) as error:
            raise UnreadableLog(f"The layout kept for this logger is broken: {error}.") from None


def _typed(name: str, value: Any) -> Any:
    """Give a value of JSON or of a form its type back."""
    if value is None:
        return None
    if name in {"time_columns", "column_names"}:
        return tuple(value)
    if name == "unit":
        return Unit(value)
    return DateOrder(value) if name == "date_order" else value


@dataclass(frozen=True, slots=True)
class Question:
    """What the file does not show: the field of the shape, and what may be answered.

    Each choice is a value and its words; no choices: any time zone.
    """

    field: str
    text: str
    choices: tuple[tuple[Any, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Sniffed:
    """A shape with what was understood, in sentences, and what must be asked."""

    shape: LogShape
    understood: tuple[str, ...]
    questions: tuple[Question, ...]
