"""A line into cells. Each line stands for itself: an open quote never swallows the next one."""

import csv


def cells_of(line: str, separator: str) -> list[str] | None:
    """Return the cells of a line; None where its quotes do not close."""
    if '"' not in line:
        return line.split(separator)
    try:
        return next(csv.reader((line,), delimiter=separator, strict=True))
    except (csv.Error, StopIteration):
        return None
