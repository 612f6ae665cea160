"""Figures a cleaning plan rests on, each with what stands behind it.

Law, model code, standard, trade guidance, the house's own reading of a source, and practice
without any source are told apart, because a venue may loosen some of them and not others.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.codes import said
from kegsafe.rules.tables import Row, read_rows
from kegsafe.science.tables import SHARED

CLEANING = SHARED / "cleaning"
UNITS = ("mg/l", "degC", "s", "l/min", "m/s", "pH", "line volumes", "mg/ml", "ml")

_COLUMNS = (
    "rule",
    "minimum",
    "maximum",
    "unit",
    "meaning",
    "basis",
    "source",
    "section",
    "verified",
    "note",
)


class Basis(StrEnum):
    """What stands behind a figure, the most binding first."""

    LAW = "law"
    MODEL_CODE = "model_code"
    STANDARD = "standard"
    TRADE_GUIDANCE = "trade_guidance"
    HOUSE = "house"
    COMMON_PRACTICE = "common_practice"

    @property
    def binds(self) -> bool:
        """Whether a venue may not be looser on its own."""
        return self in (Basis.LAW, Basis.MODEL_CODE)

    @property
    def in_words(self) -> str:
        """Return how a page names it."""
        return _BASIS_WORDS[self]


_BASIS_WORDS = {
    Basis.LAW: "law",
    Basis.MODEL_CODE: "model code",
    Basis.STANDARD: "standard",
    Basis.TRADE_GUIDANCE: "trade guidance",
    Basis.HOUSE: "house rule",
    Basis.COMMON_PRACTICE: "common practice, no source",
}


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a row comes from, and how well somebody checked it."""

    basis: Basis
    source: str
    section: str
    verified: str

    def __str__(self) -> str:
        return f"{self.source}, {self.section}" if self.section else self.source


@dataclass(frozen=True, slots=True)
class Bound:
    """From this to that, both ends allowed; a missing end is no limit on that side."""

    rule: str
    minimum: Decimal | None
    maximum: Decimal | None
    unit: str
    citation: Citation

    def __post_init__(self) -> None:
        if self.minimum is None and self.maximum is None:
            raise ValueError(f"{self.rule} bounds nothing: give a minimum, a maximum or both.")
        if None not in (self.minimum, self.maximum) and self.minimum > self.maximum:  # type: ignore[operator]
            raise ValueError(f"{self.rule}: the minimum is above the maximum.")

    @property
    def in_words(self) -> str:
        """Return the bound as a person reads it: '2 % to 3 %', 'at least 15 min'."""
        low, high = (None if end is None else amount(end, self.unit) for end in self._ends)
        if low is None:
            return f"at most {high}"
        return f"at least {low}" if high is None else f"{low} to {high}"

    @property
    def _ends(self) -> tuple[Decimal | None, Decimal | None]:
        return self.minimum, self.maximum


def amount(value: Decimal, unit: str) -> str:
    """Return a number with its unit as the cleaning pages write it.

    Ten thousand mg/l are one per cent by mass over volume; seconds from two minutes up are
    written in minutes where they are whole ones.

    >>> amount(Decimal(20000), "mg/l"), amount(Decimal(900), "s"), amount(Decimal("0.5"), "pH")
    ('2 %', '15 min', '0.5 pH')
    """
    if unit == "mg/l" and value >= 10_000:
        return f"{(value / 10_000).normalize():f} %"
    if unit == "s" and value >= 120 and value % 60 == 0:
        return f"{(value / 60).normalize():f} min"
    if unit == "pH":
        return f"{value.normalize():f} pH"
    return said(value, unit)


def citation_of(row: Row) -> Citation:
    """Return the citation of a row that says its basis."""
    return Citation(
        Basis(row.one_of("basis", tuple(Basis))),
        row.text("source"),
        row.optional("section"),
        row.verified(),
    )


def guidance(rule: str) -> Bound:
    """Return one figure by its rule id; KeyError when shared/cleaning holds none."""
    return load_guidance(CLEANING / "guidance.csv")[rule]


@cache
def load_guidance(path: Path) -> Mapping[str, Bound]:
    """Read the figures of a file; BadRuleData names row and column of what is wrong."""
    found: dict[str, Bound] = {}
    for row in read_rows(path, _COLUMNS):
        bound = _bound(row)
        if bound.rule in found:
            raise row.wrong("rule", "a rule id that no row above has")
        found[bound.rule] = bound
    return MappingProxyType(found)


def _bound(row: Row) -> Bound:
    row.text("meaning")
    minimum, maximum = row.optional_number("minimum"), row.optional_number("maximum")
    if minimum is None and maximum is None:
        raise row.wrong("maximum", "a number here or as the minimum")
    if minimum is not None and maximum is not None and minimum > maximum:
        raise row.wrong("maximum", "a number not below the minimum")
    return Bound(row.text("rule"), minimum, maximum, row.one_of("unit", UNITS), citation_of(row))
