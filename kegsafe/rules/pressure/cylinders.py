"""When a gas cylinder must be inspected or requalified, counted from the stamp on its shoulder."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.pressure.regimes import ANY, PRESSURE
from kegsafe.rules.tables import Row, read_rows

UNREADABLE = "any.unreadable"
PAST_DATE = "us.past_date"
STAR = "us.3a_3aa_star"
NO_TEST, AS_MARKED = "none", "as marked"

_COLUMNS = (
    *("rule", "valid_from", "regime", "cylinder_type", "gas", "interval_years", "applies"),
    *("note", "source", "section", "verified", "seen"),
)


@dataclass(frozen=True, slots=True)
class CylinderRule:
    """One row: how long a stamp lasts.

    `interval_years` is None where `interval_word` says why: 'none' (no test is asked) or
    'as marked' (the permit decides); 0 means never to be filled. A row that does not
    `applies` is kept to be quoted, never to be counted by.
    """

    rule: str
    valid_from: date
    regime: str
    cylinder_type: str
    interval_years: int | None
    interval_word: str
    applies: bool
    note: str
    citation: str
    verified: str


def cylinder_rule(rule: str, on: date) -> CylinderRule:
    """Return the row in force on a day. A blank id is a cylinder that nobody could read."""
    begun = [row for row in rules().get(rule or UNREADABLE, ()) if row.valid_from <= on]
    if not begun:
        raise KeyError(f"no rule {rule} on {on:%Y-%m-%d}")
    return begun[-1]


def cylinder_types(regime: str) -> tuple[CylinderRule, ...]:
    """Return what a cylinder can be under a regime, newest rows; all of them where none is set."""
    newest = [rows[-1] for rows in rules().values()]
    return tuple(
        row for row in newest if row.applies and (not regime or row.regime in {regime, ANY})
    )


@cache
def rules() -> Mapping[str, tuple[CylinderRule, ...]]:
    """Return every row by its id, oldest first."""
    return load_rules(PRESSURE / "cylinder_retest.csv")


def load_rules(path: Path) -> Mapping[str, tuple[CylinderRule, ...]]:
    """Read the rows of a file; BadRuleData names what is wrong."""
    found: dict[str, tuple[CylinderRule, ...]] = {}
    rows = sorted(read_rows(path, _COLUMNS), key=lambda row: row.day("valid_from"))
    for row in rows:
        rule = _rule(row)
        found[rule.rule] = (*found.get(rule.rule, ()), rule)
    return MappingProxyType(found)


def _rule(row: Row) -> CylinderRule:
    interval = row.text("interval_years")
    word = interval if interval in (NO_TEST, AS_MARKED) else ""
    section, source = row.optional("section"), row.text("source")
    return CylinderRule(
        rule=row.text("rule"),
        valid_from=row.day("valid_from"),
        regime=row.text("regime"),
        cylinder_type=row.text("cylinder_type"),
        interval_years=None if word else int(row.number("interval_years")),
        interval_word=word,
        applies=row.flag("applies"),
        note=row.optional("note"),
        citation=f"{source}, {section}" if section else source,
        verified=row.verified(),
    )
