"""How often equipment is cleaned: laws, codes, standards, guidance and practice, told apart."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.cleaning.guidance import CLEANING, Basis, Citation, citation_of
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment
from kegsafe.rules.tables import Row, read_rows

ANY = "any"
_COLUMNS = (
    "rule",
    "equipment",
    "drinks",
    "text",
    "every",
    "unit",
    "at_or_below_degc",
    "basis",
    "jurisdiction",
    "source",
    "section",
    "verified",
    "note",
)


class Every(StrEnum):
    """What an interval counts."""

    DAY = "day"
    HOUR = "hour"
    USE = "use"
    FILL = "fill"
    ALLERGEN_CHANGE = "allergen_change"
    IDLE_DAY = "idle_day"


@dataclass(frozen=True, slots=True)
class Interval:
    """One rule about how often. `every` is None where the source gives no number.

    `jurisdiction` names the place or code whose rule it is; empty for a rule of no one place.
    """

    rule: str
    equipment: frozenset[Equipment]
    drinks: frozenset[DrinkKind]
    text: str
    every: int | None
    unit: Every
    at_or_below_degc: Decimal | None
    jurisdiction: str
    citation: Citation
    note: str

    @property
    def in_words(self) -> str:
        """Return the interval as a person reads it: 'every 14 days', 'after each use'."""
        if self.every is None:
            return self.text
        if self.unit is Every.ALLERGEN_CHANGE:
            return "at a change to a drink without the last one's allergens"
        if self.unit is Every.IDLE_DAY:
            return f"after {self.every} days without a pour"
        if self.every == 1 and self.unit in (Every.USE, Every.FILL):
            return f"after each {self.unit.value}"
        noun = self.unit.value if self.every == 1 else f"{self.unit.value}s"
        return f"every {noun}" if self.every == 1 else f"every {self.every} {noun}"

    def applies_to(self, equipment: Equipment, drink: DrinkKind) -> bool:
        """Whether the rule speaks of this equipment with this drink."""
        return equipment in self.equipment and bool(self.drinks & {DrinkKind.ANY, drink})


def intervals() -> Mapping[str, Interval]:
    """Return every interval on file by its rule id."""
    return load_intervals(CLEANING / "intervals.csv")


def intervals_of(jurisdiction: str, equipment: Equipment, drink: DrinkKind) -> tuple[Interval, ...]:
    """Return what one place's law or code says of equipment with a drink.

    Rows that hang on the temperature of the place are left out; ask `hours_at` for those.
    """
    return tuple(
        interval
        for interval in intervals().values()
        if interval.jurisdiction == jurisdiction
        and interval.at_or_below_degc is None
        and interval.applies_to(equipment, drink)
    )


def laws_of(region: str, equipment: Equipment, drink: DrinkKind) -> tuple[Interval, ...]:
    """Return the law of a state or region on equipment with a drink; none where none is chosen.

    A piece whose drink nobody named is held by every law for such equipment.
    """
    return tuple(
        interval
        for interval in intervals().values()
        if region
        and interval.jurisdiction == region
        and interval.citation.basis is Basis.LAW
        and equipment in interval.equipment
        and (drink is DrinkKind.ANY or interval.applies_to(equipment, drink))
    )


def regions() -> dict[str, str]:
    """Return the states and regions with a law on file: key and name, in their order."""
    keys = {
        interval.jurisdiction
        for interval in intervals().values()
        if interval.jurisdiction and interval.citation.basis is Basis.LAW
    }
    return {key: _region_name(key) for key in sorted(keys)}


def _region_name(key: str) -> str:
    """Return 'Rhode Island, US' for us_rhode_island."""
    country, _, name = key.partition("_")
    return f"{name.replace('_', ' ').title()}, {country.upper()}"


def hours_at(place_degc: Decimal | None, jurisdiction: str) -> Interval | None:
    """Return how long surfaces with a TCS drink may go uncleaned in a place so cold.

    A place of unknown temperature, or a warmer one than any row, counts as not chilled.
    None where the jurisdiction has no such rows.
    """
    hourly = [
        interval
        for interval in intervals().values()
        if interval.jurisdiction == jurisdiction
        and interval.unit is Every.HOUR
        and DrinkKind.FRESH in interval.drinks
    ]
    chilled = [
        interval
        for interval in hourly
        if place_degc is not None
        and interval.at_or_below_degc is not None
        and place_degc <= interval.at_or_below_degc
    ]
    if chilled:
        return min(chilled, key=lambda interval: interval.at_or_below_degc or Decimal(0))
    return next((each for each in hourly if each.at_or_below_degc is None), None)


@cache
def load_intervals(path: Path) -> Mapping[str, Interval]:
    """Read the intervals of a file; BadRuleData names row and column of what is wrong."""
    found: dict[str, Interval] = {}
    for row in read_rows(path, _COLUMNS):
        interval = _interval(row)
        if interval.rule in found:
            raise row.wrong("rule", "a rule id that no row above has")
        found[interval.rule] = interval
    return MappingProxyType(found)


def _interval(row: Row) -> Interval:
    equipment, drinks = row.keys("equipment"), row.keys("drinks")
    if equipment != (ANY,) and not (equipment and set(equipment) <= set(Equipment)):
        raise row.wrong("equipment", "any, or one or more of: " + ", ".join(Equipment))
    if not drinks or not set(drinks) <= set(DrinkKind):
        raise row.wrong("drinks", "one or more of: " + ", ".join(DrinkKind))
    if not row.optional("every"):
        row.text("note")
    return Interval(
        rule=row.text("rule"),
        equipment=frozenset(Equipment if equipment == (ANY,) else map(Equipment, equipment)),
        drinks=frozenset(DrinkKind(drink) for drink in drinks),
        text=row.text("text"),
        every=row.whole_number("every") if row.optional("every") else None,
        unit=Every(row.one_of("unit", tuple(Every))),
        at_or_below_degc=row.optional_number("at_or_below_degc"),
        jurisdiction=row.optional("jurisdiction"),
        citation=citation_of(row),
        note=row.optional("note"),
    )
