"""How long a year's inspection pack takes, against its rows drawn straight on the canvas."""

import gc
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from pathlib import Path

from django.db import transaction
from reportlab.lib.pagesizes import A4, landscape

from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.throw_away import Site
from kegsafe.benchmarks.year_of_a_bar import Size, YearOfABar
from kegsafe.inspection.blocks import Rows
from kegsafe.inspection.scope import Scope
from kegsafe.inspection.sections import SECTIONS
from kegsafe.inspection.writing import write_pack
from kegsafe.reports.text import REGULAR, Bold, new_canvas

MOST_TIMES_STRAIGHT = 5
MOST_MB = 100
_DAYS = 365
_FIRST = date(2025, 1, 1)
_SHORTEST = 5  # rounds: each draws a thousand pages twice
_ROWS_A_PAGE, _SIZE, _LEADING, _MARGIN = 55, 6, 9, 30
_STATM = Path("/proc/self/statm")
_PAGE_MB = 4096 / 2**20


@dataclass(frozen=True, slots=True)
class Memory:
    """The most memory a work took above what the process held before, in MB."""

    what: str
    mb: float
    bound: float

    @property
    def is_broken(self) -> bool:
        return self.mb > self.bound

    def __str__(self) -> str:
        word = "BROKEN" if self.is_broken else "kept"
        return f"{self.what}: {self.mb:.0f} MB above the start, at most {self.bound:g}: {word}"


def measure(site: Site, rounds: int) -> Iterator[Comparison | Memory]:
    """Measure the pack of a year of a bar: its memory at the first run, then its time."""
    with transaction.atomic():
        bar = YearOfABar(_FIRST, Size(days=_DAYS))
    rows = _texts(bar)
    mine = f"a year's pack, {len(rows):,} rows"
    straight = "the same rows straight on the canvas"
    if _STATM.exists():
        yield Memory(mine, _peak_mb(lambda: _pack(bar)), MOST_MB)
    works: dict[str, Callable[[], object]] = {
        mine: lambda: _pack(bar),
        straight: lambda: _straight(rows),
    }
    seconds = take_turns(works, rounds=min(rounds, _SHORTEST), times=1)
    yield compare(mine, straight, seconds, bound=MOST_TIMES_STRAIGHT)


def _scope(bar: YearOfABar) -> Scope:
    """Return the year anew: nothing that one run looked up is there for the next."""
    made_at = bar.at(bar.size.days, 1)
    return Scope(bar.venue, bar.first, bar.last, made_at, "mara", bar.venue.chain)


def _pack(bar: YearOfABar) -> None:
    if write_pack(_scope(bar), SECTIONS, BytesIO(), paper="a4").pages < _DAYS:
        raise RuntimeError("the pack is too thin to be a year: nothing to measure")


def _texts(bar: YearOfABar) -> list[list[str]]:
    """Return every cell of every table of the pack."""
    scope = _scope(bar)
    return [
        [cell.text if isinstance(cell, Bold) else cell for cell in (*row.cells, *row.below)]
        for section in SECTIONS
        for block in section.blocks(scope)
        if isinstance(block, Rows)
        for row in block.rows
    ]


def _straight(rows: list[list[str]]) -> None:
    """The yardstick: each cell as one string beside the other, a new page when one is full."""
    page = landscape(A4)
    canvas = new_canvas(BytesIO(), page, title="Rows", author="Rows")
    for first in range(0, len(rows), _ROWS_A_PAGE):
        canvas.setFont(REGULAR, _SIZE)
        for number, row in enumerate(rows[first : first + _ROWS_A_PAGE]):
            y = page[1] - _MARGIN - number * _LEADING
            wide = (page[0] - 2 * _MARGIN) / len(row)
            for place, text in enumerate(row):
                canvas.drawString(_MARGIN + place * wide, y, text)
        canvas.showPage()
    canvas.save()


def _peak_mb(work: Callable[[], object]) -> float:
    """Return the most memory a work takes above the start, looked at twenty times a second."""
    gc.collect()
    start = peak = _resident_mb()
    is_over = threading.Event()

    def look() -> None:
        nonlocal peak
        while not is_over.wait(0.05):
            peak = max(peak, _resident_mb())

    looking = threading.Thread(target=look, daemon=True)
    looking.start()
    try:
        work()
    finally:
        is_over.set()
        looking.join()
    return max(peak, _resident_mb()) - start


def _resident_mb() -> float:
    return int(_STATM.read_text().split()[1]) * _PAGE_MB
