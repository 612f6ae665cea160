"""Whose pressure and gas rules apply: found from the food code a venue picked."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.tables import read_rows
from kegsafe.science.tables import SHARED

PRESSURE = SHARED / "pressure"
ANY = "any"  # a row that counts under every regime

_COLUMNS = ("regime", "name", "codes", "deference", "source", "section", "verified")


@dataclass(frozen=True, slots=True)
class Regime:
    """One country or union and who decides there. `codes` are the food codes that lead to it."""

    key: str
    name: str
    codes: tuple[str, ...]
    deference: str


@cache
def regimes() -> Mapping[str, Regime]:
    """Return every regime on file by its key."""
    return load_regimes(PRESSURE / "regimes.csv")


def regime_of(code_key: str) -> Regime | None:
    """Return the regime of a food code, None where none is on file: the strictest row applies."""
    return next((each for each in regimes().values() if code_key in each.codes), None)


def load_regimes(path: Path) -> Mapping[str, Regime]:
    """Read the regimes of a file; BadRuleData names what is wrong."""
    found = {}
    for row in read_rows(path, _COLUMNS):
        row.text("source")
        row.verified()
        key = row.text("regime")
        found[key] = Regime(key, row.text("name"), row.keys("codes"), row.text("deference"))
    return MappingProxyType(found)
