"""Limits of sanitisers by food code, and the strengths above which a rinse must follow."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.cleaning.guidance import CLEANING
from kegsafe.rules.tables import Row, read_rows


class Active(StrEnum):
    """What does the sanitising, as codes and residue rules name it."""

    CHLORINE = "chlorine"
    IODINE = "iodine"
    QUAT = "quat"
    QUAT_BLEND = "quat_blend"
    PEROXYACETIC_ACID = "peroxyacetic_acid"
    HYDROGEN_PEROXIDE = "hydrogen_peroxide"
    OTHER = "other"
    HOT_WATER = "hot_water"


class Use(StrEnum):
    """How a sanitiser meets the surface, as far as a code tells cases apart."""

    ANY = "any"
    IMMERSION = "immersion"
    MACHINE_STATIONARY_RACK = "machine_stationary_rack"
    MACHINE_OTHER = "machine_other"
    SURFACE_INDICATOR = "surface_indicator"


_SANITISER_COLUMNS = (
    "rule",
    "code",
    "actives",
    "use",
    "valid_from",
    "at_least_mg_per_l",
    "below_mg_per_l",
    "at_most_mg_per_l",
    "at_least_degc",
    "at_most_degc",
    "ph_at_most",
    "label_may_raise_ph",
    "hardness_at_most_mg_per_l",
    "contact_s",
    "source",
    "section",
    "verified",
    "note",
)
_CODE_COLUMNS = ("code", "name", "beside", "note", "source", "section", "verified")
_NO_RINSE_COLUMNS = (
    "rule",
    "active",
    "name",
    "at_most_mg_per_l",
    "valid_from",
    "source",
    "section",
    "verified",
    "note",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SanitiserRow:
    """One row of a code's table. A missing number is a limit the row does not set."""

    rule: str
    code: str
    actives: tuple[Active, ...]
    use: Use
    valid_from: date
    at_least_mg_per_l: Decimal | None
    below_mg_per_l: Decimal | None
    at_most_mg_per_l: Decimal | None
    at_least_degc: Decimal | None
    at_most_degc: Decimal | None
    ph_at_most: Decimal | None
    label_may_raise_ph: bool
    hardness_at_most_mg_per_l: Decimal | None
    contact_s: Decimal | None
    source: str
    section: str
    verified: str
    note: str

    @property
    def citation(self) -> str:
        """Return document and section as finding and report print them."""
        return f"{self.source}, {self.section}"


@dataclass(frozen=True, slots=True)
class NoRinseMaximum:
    """The strength up to which a drained surface needs no rinse."""

    rule: str
    active: Active
    name: str
    at_most_mg_per_l: Decimal
    valid_from: date
    source: str
    section: str
    verified: str
    note: str

    @property
    def citation(self) -> str:
        """Return document and section as finding and report print them."""
        return f"{self.source}, {self.section}"


@dataclass(frozen=True, slots=True)
class SanitiserCode:
    """A code as far as sanitisers go. `beside` is a code whose table counts as well."""

    code: str
    name: str
    beside: str
    note: str


class UnknownSanitiserCode(LookupError):
    """No sanitiser table is filed under this code; the message names those that are."""


def sanitiser_code(key: str) -> SanitiserCode:
    """Return a code by its key, the one the venue works under."""
    known = load_sanitiser_codes(CLEANING / "sanitiser_codes.csv")
    try:
        return known[key]
    except KeyError:
        names = ", ".join(sorted(known))
        raise UnknownSanitiserCode(f'"{key}" has no sanitiser table. Known: {names}.') from None


def sanitiser_tables(code: str, on: date) -> tuple[tuple[SanitiserRow, ...], ...]:
    """Return the tables that count under a code on a day: its own, then the one beside it."""
    chosen = sanitiser_code(code)
    every = load_sanitisers(CLEANING / "sanitisers.csv")
    return tuple(_in_force(every, key, on) for key in (chosen.code, chosen.beside) if key)


def no_rinse_maximum(active: Active, on: date) -> NoRinseMaximum | None:
    """Return the strength up to which draining is enough; None where no row sets one."""
    rows = load_no_rinse(CLEANING / "no_rinse.csv")
    begun = [row for row in rows if row.active is active and row.valid_from <= on]
    return max(begun, key=lambda row: row.valid_from, default=None)


@cache
def load_sanitisers(path: Path) -> tuple[SanitiserRow, ...]:
    """Read the tables of every code; BadRuleData names row and column of what is wrong."""
    seen: set[tuple[str, date]] = set()
    found = []
    for row in read_rows(path, _SANITISER_COLUMNS):
        sanitiser = _sanitiser(row)
        if (sanitiser.rule, sanitiser.valid_from) in seen:
            raise row.wrong("valid_from", f"one row per day for {sanitiser.rule}")
        seen.add((sanitiser.rule, sanitiser.valid_from))
        found.append(sanitiser)
    return tuple(found)


@cache
def load_sanitiser_codes(path: Path) -> Mapping[str, SanitiserCode]:
    """Read which table counts under which code; BadRuleData names what is wrong."""
    rows = read_rows(path, _CODE_COLUMNS)
    keys = [row.text("code") for row in rows]
    return MappingProxyType({row.text("code"): _code(row, keys) for row in rows})


@cache
def load_no_rinse(path: Path) -> tuple[NoRinseMaximum, ...]:
    """Read the no-rinse maxima; BadRuleData names row and column of what is wrong."""
    return tuple(
        NoRinseMaximum(
            row.text("rule"),
            Active(row.one_of("active", tuple(Active))),
            row.text("name"),
            row.number("at_most_mg_per_l"),
            row.day("valid_from"),
            row.text("source"),
            row.text("section"),
            row.verified(),
            row.optional("note"),
        )
        for row in read_rows(path, _NO_RINSE_COLUMNS)
    )


def _in_force(every: Iterable[SanitiserRow], code: str, on: date) -> tuple[SanitiserRow, ...]:
    latest: dict[str, SanitiserRow] = {}
    for row in sorted(every, key=lambda row: row.valid_from):
        if row.code == code and row.valid_from <= on:
            latest[row.rule] = row
    return tuple(latest.values())


def _sanitiser(row: Row) -> SanitiserRow:
    actives = row.keys("actives")
    if not actives or not set(actives) <= set(Active):
        raise row.wrong("actives", "one or more of: " + ", ".join(Active))
    if row.optional("below_mg_per_l") and row.optional("at_most_mg_per_l"):
        raise row.wrong("below_mg_per_l", "an empty cell where at_most_mg_per_l is given")
    return SanitiserRow(
        rule=row.text("rule"),
        code=row.text("code"),
        actives=tuple(Active(active) for active in actives),
        use=Use(row.one_of("use", tuple(Use))),
        valid_from=row.day("valid_from"),
        at_least_mg_per_l=row.optional_number("at_least_mg_per_l"),
        below_mg_per_l=row.optional_number("below_mg_per_l"),
        at_most_mg_per_l=row.optional_number("at_most_mg_per_l"),
        at_least_degc=row.optional_number("at_least_degc"),
        at_most_degc=row.optional_number("at_most_degc"),
        ph_at_most=row.optional_number("ph_at_most"),
        label_may_raise_ph=row.flag("label_may_raise_ph"),
        hardness_at_most_mg_per_l=row.optional_number("hardness_at_most_mg_per_l"),
        contact_s=row.optional_number("contact_s"),
        source=row.text("source"),
        section=row.text("section"),
        verified=row.verified(),
        note=row.optional("note"),
    )


def _code(row: Row, keys: list[str]) -> SanitiserCode:
    row.text("source")
    row.verified()
    return SanitiserCode(
        row.text("code"),
        row.text("name"),
        row.one_of("beside", ("", *keys)),
        row.optional("note"),
    )
