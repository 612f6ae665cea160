"""Whether a food needs time/temperature control for safety (TCS), on what evidence.

Alcohol, carbonation, sugar and a recipe's name decide nothing here: measured pH, measured
water activity, the kind of food or a signed assessment do. What is not shown is treated as TCS.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Literal

from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.tables import Row, read_rows
from kegsafe.science.tables import SHARED

Table = Literal["A", "B"]
Result = Literal["N", "PA"]

_BOUNDS = ("aw_min", "aw_max", "ph_min", "ph_max")
_TABLE_COLUMNS = (
    "table",
    *_BOUNDS,
    *(f"{bound}_included" for bound in _BOUNDS),
    "result",
    "source",
    "section",
    "verified",
)
_CATEGORY_COLUMNS = (
    "category",
    "name",
    "tcs",
    "clause",
    "note",
    "source",
    "section",
    "verified",
)
_MARGIN_COLUMNS = ("quantity", "value", "unit", "note", "source", "section", "verified")
_DEFINITION = "FDA Food Code 1-201.10, TCS food"


class TcsStatus(StrEnum):
    """What the evidence says. Everything but NOT_TCS is treated as TCS."""

    NOT_TCS = "not_tcs"
    TCS = "tcs"
    ASSESSMENT_NEEDED = "assessment_needed"
    UNKNOWN = "unknown"

    @property
    def treated_as_tcs(self) -> bool:
        return self is not TcsStatus.NOT_TCS


@dataclass(frozen=True, slots=True)
class ProductAssessment:
    """A competent person's written judgement of a food, with what it covers and until when."""

    reference: str
    competent_person: str
    role: str
    assessed_on: date
    expires_on: date | None
    ph: Decimal | None
    water_activity: Decimal | None
    concludes_not_tcs: bool
    maximum_days: int | None
    scope: str

    def is_current(self, on: date) -> bool:
        """Say whether it counts on a day: signed, begun and not run out."""
        is_signed = bool(self.reference.strip() and self.competent_person.strip())
        has_run_out = self.expires_on is not None and on > self.expires_on
        return is_signed and self.assessed_on <= on and not has_run_out


@dataclass(frozen=True, slots=True)
class TcsFacts:
    """What is known of one food. None is not recorded.

    `category` is a key of shared/tcs/categories.csv. pH is measured on the degassed food. A
    meter's uncertainty is added before a measurement is judged; where it is None the house
    margin of shared/tcs/margins.csv is. `declared` is what the maker's label says; it decides
    only where the category leaves it to the label, and can always speak for TCS.
    """

    category: str | None
    ph: Decimal | None
    water_activity: Decimal | None
    heat_treated_and_packaged: bool
    shelf_stable_unopened: bool
    assessment: ProductAssessment | None
    declared: TcsStatus | None = None
    ph_uncertainty: Decimal | None = None
    water_activity_uncertainty: Decimal | None = None


@dataclass(frozen=True, slots=True)
class TcsVerdict:
    """The status, and the one finding that says why."""

    status: TcsStatus
    finding: Finding

    @property
    def treated_as_tcs(self) -> bool:
        return self.status.treated_as_tcs


@dataclass(frozen=True, slots=True)
class TcsCategory:
    """One kind of food. `tcs` is yes, no, label (its label decides) or measure."""

    key: str
    name: str
    tcs: str
    clause: str
    note: str
    source: str
    section: str
    verified: str

    @property
    def citation(self) -> str:
        return f"{self.source}, {self.section}" if self.section else self.source


@dataclass(frozen=True, slots=True)
class _Range:
    """An interval with either end open, shut or missing."""

    least: Decimal | None
    least_included: bool
    most: Decimal | None
    most_included: bool

    def may_hold(self, value: Decimal | None) -> bool:
        """Say whether a value lies inside; one that is not known may lie anywhere."""
        if value is None:
            return True
        if self.least is not None and not _above(value, self.least, self.least_included):
            return False
        return self.most is None or _above(-value, -self.most, self.most_included)


@dataclass(frozen=True, slots=True)
class _Box:
    """One cell of a table."""

    table: str
    water_activity: _Range
    ph: _Range
    result: Result


def table_result(table: Table, ph: Decimal | None, aw: Decimal | None) -> Result:
    """Return N (not TCS) or PA (product assessment needed) from the interaction tables.

    Table A is for food heat-treated and then packed; table B for all other. A value that is
    not known must not matter: the answer is N only where every possible value gives N.

    >>> table_result("B", Decimal("4.19"), None)
    'N'
    """
    boxes = [box for box in _boxes() if box.table == table]
    reached = [box for box in boxes if box.ph.may_hold(ph) and box.water_activity.may_hold(aw)]
    if (ph is None and aw is None) or not reached:
        return "PA"
    return "N" if all(box.result == "N" for box in reached) else "PA"


def tcs_status(facts: TcsFacts, on: date) -> TcsVerdict:
    """Judge one food on a day. The first evidence in this order decides: an unopened
    shelf-stable pack, a current assessment, the measured values, the kind of food.
    """
    if facts.shelf_stable_unopened:
        return _verdict(
            TcsStatus.NOT_TCS,
            "A shelf-stable pack, unopened, needs no time/temperature control.",
            _DEFINITION,
            "second-hand",
        )
    if facts.assessment is not None and facts.assessment.is_current(on):
        return _by_assessment(facts.assessment)
    if facts.declared is TcsStatus.TCS:
        return _verdict(TcsStatus.TCS, "Its label says to keep it cold.", "Maker's label", "venue")
    if facts.ph is not None or facts.water_activity is not None:
        return _by_measurement(facts)
    return _by_category(facts)


@cache
def tcs_categories() -> Mapping[str, TcsCategory]:
    """Return the kinds of food by key, in the order of the table, for forms too."""
    rows = read_rows(SHARED / "tcs" / "categories.csv", _CATEGORY_COLUMNS)
    return MappingProxyType({row.text("category"): _category(row) for row in rows})


def _by_assessment(assessment: ProductAssessment) -> TcsVerdict:
    verb = "does not need" if assessment.concludes_not_tcs else "needs"
    until = f" until {assessment.expires_on}" if assessment.expires_on else ""
    return _verdict(
        TcsStatus.NOT_TCS if assessment.concludes_not_tcs else TcsStatus.TCS,
        f"{assessment.competent_person} assessed that it {verb} time/temperature control: "
        f"{assessment.scope}{until}.",
        f"Assessment {assessment.reference}, {assessment.assessed_on}",
        "venue",
    )


def _by_measurement(facts: TcsFacts) -> TcsVerdict:
    table: Table = "A" if facts.heat_treated_and_packaged else "B"
    ph = _with_margin(facts.ph, facts.ph_uncertainty, "ph")
    aw = _with_margin(facts.water_activity, facts.water_activity_uncertainty, "water_activity")
    evidence = (
        ("pH", _measured(facts.ph, ph)),
        ("water activity", _measured(facts.water_activity, aw)),
    )
    source = f"FDA Food Code 1-201.10, Table {table}"
    if table_result(table, ph, aw) == "N":
        statement = (
            f"Table {table} places the measured values outside TCS. Acid added to make a food "
            "keep may need the authority's variance."
        )
        return _verdict(TcsStatus.NOT_TCS, statement, source, "read", evidence)
    return _verdict(
        TcsStatus.ASSESSMENT_NEEDED,
        f"Table {table} asks for a product assessment at these values; treated as TCS until then.",
        source,
        "read",
        evidence,
    )


def _by_category(facts: TcsFacts) -> TcsVerdict:
    category = tcs_categories().get(facts.category or "")
    if category is None:
        return _verdict(
            TcsStatus.UNKNOWN,
            "Neither pH, water activity, assessment nor kind of food is on record; treated as TCS.",
            _DEFINITION,
            "house",
        )
    status = _STATUS_BY_CATEGORY[category.tcs]
    if category.tcs == "label" and facts.declared is TcsStatus.NOT_TCS:
        status = TcsStatus.NOT_TCS
    statement = f"{_capitalised(category.name)}: {_MEANING[status]}. {category.note}".strip()
    return _verdict(status, statement, category.citation, category.verified)


_STATUS_BY_CATEGORY = {
    "yes": TcsStatus.TCS,
    "no": TcsStatus.NOT_TCS,
    "label": TcsStatus.UNKNOWN,
    "measure": TcsStatus.ASSESSMENT_NEEDED,
}
_MEANING = {
    TcsStatus.TCS: "TCS food by definition",
    TcsStatus.NOT_TCS: "not TCS food as such",
    TcsStatus.UNKNOWN: "not shown, so treated as TCS",
    TcsStatus.ASSESSMENT_NEEDED: "not measured, so treated as TCS",
}


def _verdict(
    status: TcsStatus,
    statement: str,
    source: str,
    verified: str,
    evidence: tuple[tuple[str, str], ...] = (),
) -> TcsVerdict:
    is_decided = status in {TcsStatus.TCS, TcsStatus.NOT_TCS}
    severity = Severity.NOTE if is_decided else Severity.WARN
    return TcsVerdict(
        status, Finding(f"tcs.{status.value}", severity, statement, source, verified, evidence)
    )


def _with_margin(
    measured: Decimal | None, uncertainty: Decimal | None, quantity: str
) -> Decimal | None:
    if measured is None:
        return None
    return measured + (_margins()[quantity] if uncertainty is None else uncertainty)


def _measured(value: Decimal | None, judged: Decimal | None) -> str:
    return "not recorded" if value is None else f"{value}, judged as {judged}"


def _capitalised(name: str) -> str:
    return name[:1].upper() + name[1:]


def _above(value: Decimal, bound: Decimal, included: bool) -> bool:
    return value >= bound if included else value > bound


@cache
def _boxes() -> tuple[_Box, ...]:
    return tuple(_box(row) for row in read_rows(SHARED / "tcs" / "tables.csv", _TABLE_COLUMNS))


def _box(row: Row) -> _Box:
    row.verified()
    result: Result = "N" if row.one_of("result", ("N", "PA")) == "N" else "PA"
    return _Box(
        table=row.one_of("table", ("A", "B")),
        water_activity=_range(row, "aw"),
        ph=_range(row, "ph"),
        result=result,
    )


def _range(row: Row, quantity: str) -> _Range:
    least, most = row.optional_number(f"{quantity}_min"), row.optional_number(f"{quantity}_max")
    return _Range(
        least=least,
        least_included=least is not None and row.flag(f"{quantity}_min_included"),
        most=most,
        most_included=most is not None and row.flag(f"{quantity}_max_included"),
    )


def _category(row: Row) -> TcsCategory:
    return TcsCategory(
        key=row.text("category"),
        name=row.text("name"),
        tcs=row.one_of("tcs", tuple(_STATUS_BY_CATEGORY)),
        clause=row.optional("clause"),
        note=row.optional("note"),
        source=row.text("source"),
        section=row.optional("section"),
        verified=row.verified(),
    )


@cache
def _margins() -> Mapping[str, Decimal]:
    rows = read_rows(SHARED / "tcs" / "margins.csv", _MARGIN_COLUMNS)
    return MappingProxyType({row.text("quantity"): row.number("value") for row in rows})
