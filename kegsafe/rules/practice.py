"""Figures of practice that no code fixes: each with its source, or the word that it has none."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.tables import read_rows
from kegsafe.science.tables import SHARED

_COLUMNS = ("rule", "value", "unit", "source", "section", "verified", "note")


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of practice."""

    rule: str
    value: Decimal
    unit: str
    source: str
    verified: str
    note: str


def practice(rule: str) -> Figure:
    """Return one figure by its rule id; KeyError when shared/practice holds none."""
    return load_practice(SHARED / "practice" / "limits.csv")[rule]


@cache
def load_practice(path: Path) -> Mapping[str, Figure]:
    """Read the figures of a file; BadRuleData names row and column of what is wrong."""
    return MappingProxyType(
        {
            row.text("rule"): Figure(
                row.text("rule"),
                row.number("value"),
                row.text("unit"),
                row.text("source"),
                row.verified(),
                row.optional("note"),
            )
            for row in read_rows(path, _COLUMNS)
        }
    )
