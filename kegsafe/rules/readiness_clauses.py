"""What each code says about a gap, and how much it weighs: the rows of shared/readiness.

The FDA Food Code prints a class behind each clause (P, Pf, core), and with it how soon a thing
is put right; a gap under that code weighs what its class says. Other codes have no classes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.tables import Row, read_rows
from kegsafe.science.tables import SHARED

CLASSES = ("P", "Pf", "C")
NO_SOURCE = "common practice, no source"
ANY_CODE = "any"

_CLASS_COLUMNS = ("class", "weight", "words", "source", "section", "verified", "note")
_CLAUSE_COLUMNS = ("gap", "code", "weighs", "source", "section", "verified", "note")


class Weight(StrEnum):
    """How much a gap weighs. The order of the members is the order of the list."""

    STOP = "stop"
    WRITE_UP = "write_up"
    ASK = "ask"

    @property
    def in_words(self) -> str:
        """Return what an inspector may be expected to do about it, in plain words."""
        return _WEIGHT_WORDS[self]


_WEIGHT_WORDS = {
    Weight.STOP: "An inspector would have this put right at once, or stop the pouring.",
    Weight.WRITE_UP: "An inspector would write this up and come back to it.",
    Weight.ASK: "An inspector would ask about it.",
}


@dataclass(frozen=True, slots=True)
class Clause:
    """What a code says about a gap, and on whose word it weighs what it does."""

    weight: Weight
    weight_source: str
    source: str
    section: str
    verified: str
    note: str

    @property
    def citation(self) -> str:
        """Return document and section as page and pack print them."""
        return f"{self.source}, {self.section}" if self.section else self.source


def clause_of(rule: str, code_key: str) -> Clause:
    """Return what a code says about a gap; where it says nothing, common practice."""
    clauses = _clauses(SHARED / "readiness")
    return clauses.get((rule, code_key)) or clauses[rule, ANY_CODE]


@cache
def _clauses(directory: Path) -> Mapping[tuple[str, str], Clause]:
    """Read the clauses of a folder; BadRuleData names row and column of what is wrong."""
    classes = {
        row.one_of("class", CLASSES): row
        for row in read_rows(directory / "classes.csv", _CLASS_COLUMNS)
    }
    rows = read_rows(directory / "clauses.csv", _CLAUSE_COLUMNS)
    return MappingProxyType(
        {(row.text("gap"), row.text("code")): _clause(row, classes) for row in rows}
    )


def _clause(row: Row, classes: Mapping[str, Row]) -> Clause:
    weighs = row.one_of("weighs", (*CLASSES, *Weight))
    weight, weight_source = weighs, NO_SOURCE
    if weighs in classes:
        of_class = classes[weighs]
        weight = of_class.one_of("weight", tuple(Weight))
        cited = f"{of_class.text('source')}, {of_class.text('section')}"
        weight_source = f"{of_class.text('words')}: {cited} ({of_class.verified()})"
    return Clause(
        weight=Weight(weight),
        weight_source=weight_source,
        source=row.text("source"),
        section=row.optional("section"),
        verified=row.verified(),
        note=row.optional("note"),
    )
