"""The usual bar ingredients, as a first draft for a form. The actual label always decides."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from kegsafe.rules.allergen_lists import processes, sources
from kegsafe.rules.tables import Row, read_rows
from kegsafe.rules.tcs import tcs_categories
from kegsafe.science.tables import SHARED

WARNING_GROUPS = ("", "citrus_juice", "dairy", "raw_egg")

_COLUMNS = (
    "key",
    "name",
    "contains",
    "ask_supplier",
    "exempt_by_process",
    "so2_default_mg_per_l",
    "so2_basis",
    "abv_low_percent",
    "abv_high_percent",
    "tcs_category",
    "warning_group",
    "default_days",
    "default_days_after",
    "default_days_basis",
    "note",
    "source",
    "verified",
)


@dataclass(frozen=True, slots=True)
class CatalogueIngredient:
    """One generic ingredient: what the usual product contains, and what its label must answer.

    `contains` and `ask_supplier` are keys of allergenic sources; `exempt_by_process` pairs a
    source with a process. `so2_default_mg_per_l` is the worst case where the supplier says
    nothing; None is not known. Alcohol is the usual range in % vol. `default_days` counts from
    the day of `default_days_after` (opened or prepared) as day 1, on the basis named.
    """

    key: str
    name: str
    contains: tuple[str, ...]
    ask_supplier: tuple[str, ...]
    exempt_by_process: tuple[tuple[str, str], ...]
    so2_default_mg_per_l: Decimal | None
    so2_basis: str
    abv_low_percent: Decimal
    abv_high_percent: Decimal
    tcs_category: str
    warning_group: str
    default_days: int | None
    default_days_after: str
    default_days_basis: str
    note: str
    source: str
    verified: str


@cache
def catalogue() -> tuple[CatalogueIngredient, ...]:
    """Return every generic ingredient in the order of the table."""
    path = SHARED / "catalogue" / "ingredients.csv"
    return tuple(_ingredient(row) for row in read_rows(path, _COLUMNS))


def search(text: str) -> tuple[CatalogueIngredient, ...]:
    """Return the ingredients whose name has every word of a text, in any order and case.

    Names that begin with the text come first; an empty text finds nothing.
    """
    words = text.casefold().split()
    if not words:
        return ()
    found = [
        ingredient
        for ingredient in catalogue()
        if all(word in ingredient.name.casefold() for word in words)
    ]
    return tuple(sorted(found, key=lambda each: not each.name.casefold().startswith(words[0])))


def _ingredient(row: Row) -> CatalogueIngredient:
    is_dated = bool(row.optional("default_days"))
    return CatalogueIngredient(
        key=row.text("key"),
        name=row.text("name"),
        contains=_sources_in(row, "contains"),
        ask_supplier=_sources_in(row, "ask_supplier"),
        exempt_by_process=_exempt(row),
        so2_default_mg_per_l=_so2(row),
        so2_basis=row.text("so2_basis"),
        abv_low_percent=row.number("abv_low_percent"),
        abv_high_percent=row.number("abv_high_percent"),
        tcs_category=row.one_of("tcs_category", tuple(tcs_categories())),
        warning_group=row.one_of("warning_group", WARNING_GROUPS),
        default_days=row.whole_number("default_days") if is_dated else None,
        default_days_after=row.one_of(
            "default_days_after", ("opened", "prepared") if is_dated else ("",)
        ),
        default_days_basis=row.text("default_days_basis") if is_dated else "",
        note=row.optional("note"),
        source=row.text("source"),
        verified=row.verified(),
    )


def _sources_in(row: Row, column: str) -> tuple[str, ...]:
    if any(key not in sources() for key in row.keys(column)):
        raise row.wrong(column, "allergenic sources that stand in sources.csv")
    return row.keys(column)


def _exempt(row: Row) -> tuple[tuple[str, str], ...]:
    """Read pairs such as wheat:cereal_distillate."""
    return tuple(_pair(row, text) for text in row.keys("exempt_by_process"))


def _pair(row: Row, text: str) -> tuple[str, str]:
    source, _, process = text.partition(":")
    if process not in processes() or source not in processes()[process].sources:
        raise row.wrong("exempt_by_process", "source:process with both on file and fitting")
    return source, process


def _so2(row: Row) -> Decimal | None:
    if row.optional("so2_default_mg_per_l") == "unknown":
        return None
    return row.number("so2_default_mg_per_l")
