"""What is looked at on which piece of pressure equipment, how often, and who decides on it."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType

from kegsafe.rules.findings import Severity
from kegsafe.rules.pressure.regimes import ANY, PRESSURE
from kegsafe.rules.tables import Row, read_rows

_KIND_COLUMNS = ("kind", "label", "on_failure", "source", "verified")
_CHECK_COLUMNS = (
    *("kind", "check", "label", "regime", "every", "unit", "runs_from", "formal"),
    *("decided_by", "source", "section", "verified", "note"),
)
_POINT_COLUMNS = ("kind", "check", "point", "text", "source", "verified")
_UNITS = ("day", "month")
_WORDS = ("each fill", "owner", "maker", "stamp")


class Result(StrEnum):
    """What was found at one point of a check."""

    PASS = "pass"  # noqa: S105 - a result, not a password
    FAIL = "fail"
    NOT_APPLICABLE = "not_applicable"


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of pressure equipment, and what its failure means for the kegs that hang on it."""

    key: str
    label: str
    on_failure: Severity


@dataclass(frozen=True, slots=True)
class CheckRule:
    """One check of one kind of equipment.

    `every` counts in `unit` (day or month) from `runs_from` (passed, mark or stamp); None
    where `settled_by` says who settles it instead: each fill, owner, maker or stamp.
    """

    kind: str
    check: str
    label: str
    regime: str
    every: int | None
    unit: str
    settled_by: str
    runs_from: str
    is_formal: bool
    decided_by: str
    citation: str
    verified: str
    note: str


@dataclass(frozen=True, slots=True)
class Point:
    """One thing to look at in a check."""

    key: str
    text: str
    source: str


@cache
def kinds() -> Mapping[str, Kind]:
    """Return every kind of pressure equipment by its key, in the order of the table."""
    found = {}
    for row in read_rows(PRESSURE / "kinds.csv", _KIND_COLUMNS):
        row.text("source")
        row.verified()
        severity = Severity(row.one_of("on_failure", [each.value for each in Severity]))
        key = row.text("kind")
        found[key] = Kind(key, row.text("label"), severity)
    return MappingProxyType(found)


@cache
def checks_of(kind: str, regime: str) -> tuple[CheckRule, ...]:
    """Return the checks of a kind that count under a regime ('' for none chosen)."""
    return tuple(
        rule for rule in _checks() if rule.kind == kind and rule.regime in {ANY, regime or ANY}
    )


def check_rule(kind: str, check: str, regime: str) -> CheckRule:
    """Return one check; KeyError where the kind has none of this name."""
    for rule in checks_of(kind, regime):
        if rule.check == check:
            return rule
    raise KeyError(f"{kind} has no check {check}")


@cache
def points_of(kind: str, check: str) -> tuple[Point, ...]:
    """Return what to look at in a check, in the order of the work."""
    return tuple(point for of, point in _points() if of == (kind, check))


@cache
def _checks() -> tuple[CheckRule, ...]:
    return tuple(_check(row) for row in read_rows(PRESSURE / "checks.csv", _CHECK_COLUMNS))


def _check(row: Row) -> CheckRule:
    settled_by = row.text("every") if row.text("every") in _WORDS else ""
    section, source = row.optional("section"), row.text("source")
    return CheckRule(
        kind=row.one_of("kind", tuple(kinds())),
        check=row.text("check"),
        label=row.text("label"),
        regime=row.text("regime"),
        every=None if settled_by else row.whole_number("every"),
        unit="" if settled_by else row.one_of("unit", _UNITS),
        settled_by=settled_by,
        runs_from=row.one_of("runs_from", ("passed", "mark", "stamp")),
        is_formal=row.flag("formal"),
        decided_by=row.text("decided_by"),
        citation=f"{source}, {section}" if section else source,
        verified=row.verified(),
        note=row.optional("note"),
    )


@cache
def _points() -> tuple[tuple[tuple[str, str], Point], ...]:
    return tuple(
        (
            (row.one_of("kind", tuple(kinds())), row.text("check")),
            Point(row.text("point"), row.text("text"), row.text("source")),
        )
        for row in read_rows(PRESSURE / "check_points.csv", _POINT_COLUMNS)
    )
