"""The published tables in `shared/`, each read once and then held.

A number that somebody published is a row there with its source, section and how far it
was verified; no module keeps a second copy.
"""

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TypeAlias

SHARED = Path(__file__).resolve().parents[2] / "shared"

Row: TypeAlias = Mapping[str, str]


class MissingTable(LookupError):
    """No table of this name lies in `shared/`."""


@cache
def rows(name: str) -> tuple[Row, ...]:
    """Return every row of a table as read-only text, in the order of the file.

    Parameters
    ----------
    name : path below `shared/` without the ending, such as "science/standard_drinks"

    Raises MissingTable, and ValueError for a row that is longer or shorter than its header.

    >>> rows("science/standard_drinks")[0]["place"]
    'UK'
    """
    path = SHARED / f"{name}.csv"
    if not path.is_file():
        raise MissingTable(f"There is no table {name}.csv in the shared folder.")
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(_checked(row, name) for row in csv.DictReader(file))


def _checked(row: dict[str, str], name: str) -> Row:
    """Refuse a row whose commas do not match its header: its numbers stand in wrong columns."""
    if None in row or None in row.values():
        raise ValueError(f"A row of {name}.csv does not fit its header: {row}")
    return MappingProxyType(row)
