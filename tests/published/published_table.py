"""Tables that somebody published and that no relation was made from."""

import csv
from pathlib import Path

TABLES = Path(__file__).parents[2] / "shared" / "science" / "reference"


def published(name: str, **where: str) -> list[dict[str, str]]:
    """Rows of a table below shared/science/reference, those alone whose columns match."""
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return [row for row in rows if all(row[column] == text for column, text in where.items())]


def label(row: dict[str, str]) -> str:
    """Name a row by its numbers, so that a failing test says which line of the print it was."""
    return " ".join(
        text for column, text in row.items() if column not in {"source", "section", "verified"}
    )
