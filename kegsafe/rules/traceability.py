"""Which rule of traceability answers for a venue's code, and the fields it asks for of a lot."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from kegsafe.rules.tables import read_rows
from kegsafe.science.tables import SHARED

FIELDS = (
    *("supplier_lot_code", "quantity", "unit", "description"),
    *("supplier", "venue", "received_on", "document"),
)

_RULE_COLUMNS = ("rule", "codes", "name", "in_force", "who", "source", "section", "verified")
_ELEMENT_COLUMNS = ("rule", "element", "field", "note", "source", "section", "verified")


@dataclass(frozen=True, slots=True)
class Element:
    """One key data element. `field` is one of FIELDS, or '' where the program records none."""

    name: str
    field: str
    note: str
    source: str
    section: str
    verified: str


@dataclass(frozen=True, slots=True)
class TraceabilityRule:
    """A rule, since when and for whom it holds, and what it asks for in the order it does."""

    key: str
    name: str
    in_force: str
    who: str
    source: str
    section: str
    verified: str
    elements: tuple[Element, ...]


def rule_for(code_key: str) -> TraceabilityRule | None:
    """Return the rule that goes with a food code; None where no row names that code."""
    return _rules().get(code_key)


@cache
def _rules() -> Mapping[str, TraceabilityRule]:
    return load_traceability(SHARED / "tracing")


def load_traceability(folder: Path) -> Mapping[str, TraceabilityRule]:
    """Return the rules by food code. Raises BadRuleData naming the file, line and column."""
    elements: dict[str, list[Element]] = {}
    for row in read_rows(folder / "elements.csv", _ELEMENT_COLUMNS):
        field = row.one_of("field", FIELDS) if row.optional("field") else ""
        elements.setdefault(row.text("rule"), []).append(
            Element(
                row.text("element"),
                field,
                row.optional("note"),
                row.text("source"),
                row.optional("section"),
                row.verified(),
            )
        )
    found: dict[str, TraceabilityRule] = {}
    for row in read_rows(folder / "rules.csv", _RULE_COLUMNS):
        key = row.text("rule")
        if key not in elements:
            raise row.wrong("rule", "a rule that elements.csv has rows of")
        rule = TraceabilityRule(
            key=key,
            name=row.text("name"),
            in_force=row.text("in_force"),
            who=row.text("who"),
            source=row.text("source"),
            section=row.text("section"),
            verified=row.verified(),
            elements=tuple(elements[key]),
        )
        for code in row.keys("codes"):
            if code in found:
                raise row.wrong("codes", "each code once")
            found[code] = rule
    return found
