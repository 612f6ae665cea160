"""The tables of shared/cold: how each code counts time above its limit, cools and receives."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar

from kegsafe.rules.codes import MissingRule
from kegsafe.rules.practice import Figure, load_practice
from kegsafe.rules.tables import Row, read_rows
from kegsafe.science.tables import SHARED

COLD = SHARED / "cold"

_SOURCED = ("source", "section", "verified", "note")
_COUNTINGS = ("any_breach", "single_period", "cumulative", "own_plan")


@dataclass(frozen=True, slots=True)
class Sourced:
    """Where a row comes from, as findings print it."""

    code: str
    valid_from: date
    source: str
    section: str
    verified: str
    note: str

    @property
    def citation(self) -> str:
        """Return document and section."""
        return f"{self.source}, {self.section}" if self.section else self.source


@dataclass(frozen=True, slots=True)
class Counting(Sourced):
    """How a code counts time above the limit: any_breach, single_period, cumulative, own_plan."""

    counting: str
    words: str


@dataclass(frozen=True, slots=True)
class CoolingStage(Sourced):
    """One stage of cooling; `hours` run from the start, or from the end of the stage before.

    `from_degc` is where the clock starts; None for food made at room temperature.
    """

    procedure: str
    stage: int
    from_degc: Decimal | None
    to_degc: Decimal
    hours: Decimal
    counted_from: str


@dataclass(frozen=True, slots=True)
class Receiving(Sourced):
    """Which limit of the code holds for chilled food on arrival."""

    limit_rule: str


@dataclass(frozen=True, slots=True)
class TimeControl(Sourced):
    """One way to hold food by the clock alone; `ceiling_degc` None: no ceiling."""

    option: str
    start_degc: Decimal
    ceiling_degc: Decimal | None
    hours: Decimal


_AnyRow = TypeVar("_AnyRow", bound=Sourced)


def counting(code: str, on: date) -> Counting:
    """Return how a code counts time above its limit on a day; MissingRule when no row says."""
    return _newest(_countings(), code, on, "way of counting time above the chill limit")[-1]


def cooling_stages(code: str, procedure: str, on: date) -> tuple[CoolingStage, ...]:
    """Return the stages of a procedure, hot or ambient, in order; MissingRule for none."""
    rows = [row for row in _cooling() if row.procedure == procedure]
    found = _newest(rows, code, on, f"cooling procedure {procedure}")
    return tuple(sorted(found, key=lambda row: row.stage))


def receiving(code: str, on: date) -> Receiving:
    """Return which limit holds on arrival; MissingRule when no row says."""
    return _newest(_receiving(), code, on, "limit for chilled food on arrival")[-1]


def time_control(code: str, option: str, on: date) -> TimeControl:
    """Return one way to hold food by the clock; MissingRule where a code has none."""
    rows = [row for row in _time_controls() if row.option == option]
    return _newest(rows, code, on, f"holding by time alone ({option})")[-1]


def figure(rule: str) -> Figure:
    """Return a figure of practice on cold holding; KeyError when there is none."""
    return load_practice(COLD / "practice.csv")[rule]


def _newest(
    rows: list[_AnyRow] | tuple[_AnyRow, ...], code: str, on: date, what: str
) -> list[_AnyRow]:
    """Return the rows of a code that came into force last, on a day."""
    begun = [row for row in rows if row.code == code and row.valid_from <= on]
    if not begun:
        raise MissingRule(f"No {what} is on file for {code} on {on:%Y-%m-%d}.")
    latest = max(row.valid_from for row in begun)
    return [row for row in begun if row.valid_from == latest]


@cache
def _countings() -> tuple[Counting, ...]:
    return _read(
        "counting",
        ("counting", "words"),
        lambda row, where: Counting(
            **where, counting=row.one_of("counting", _COUNTINGS), words=row.text("words")
        ),
    )


@cache
def _cooling() -> tuple[CoolingStage, ...]:
    return _read(
        "cooling",
        ("procedure", "stage", "from_degc", "to_degc", "hours", "counted_from"),
        lambda row, where: CoolingStage(
            **where,
            procedure=row.one_of("procedure", ("hot", "ambient")),
            stage=row.whole_number("stage"),
            from_degc=row.optional_number("from_degc"),
            to_degc=row.number("to_degc"),
            hours=row.number("hours"),
            counted_from=row.one_of("counted_from", ("start", "stage_before")),
        ),
    )


@cache
def _receiving() -> tuple[Receiving, ...]:
    return _read(
        "receiving",
        ("limit_rule",),
        lambda row, where: Receiving(**where, limit_rule=row.text("limit_rule")),
    )


@cache
def _time_controls() -> tuple[TimeControl, ...]:
    return _read(
        "time_control",
        ("option", "start_degc", "ceiling_degc", "hours"),
        lambda row, where: TimeControl(
            **where,
            option=row.text("option"),
            start_degc=row.number("start_degc"),
            ceiling_degc=row.optional_number("ceiling_degc"),
            hours=row.number("hours"),
        ),
    )


def _read(
    name: str, columns: tuple[str, ...], make: Callable[[Row, Mapping[str, Any]], _AnyRow]
) -> tuple[_AnyRow, ...]:
    rows = read_rows(COLD / f"{name}.csv", ("code", "valid_from", *columns, *_SOURCED))
    return tuple(make(row, _where(row)) for row in rows)


def _where(row: Row) -> dict[str, Any]:
    return {
        "code": row.text("code"),
        "valid_from": row.day("valid_from"),
        "source": row.text("source"),
        "section": row.optional("section"),
        "verified": row.verified(),
        "note": row.optional("note"),
    }
