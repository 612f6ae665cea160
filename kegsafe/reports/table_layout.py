"""Rows of a table on paper as lines of text: how wide, how high, and what goes to the next page."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm

from kegsafe.reports.text import Bold, lines_of, width_of

_LONGEST_UPRIGHT = 28 * mm
_SET_IN = 10  # points that the text below a row is set in, so that the eye finds the next row


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. `width` is a share of the page; `upright` turns its head on end."""

    head: str
    width: float
    upright: bool = False


Cell = str | Bold


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row, and what is said below it across the whole table."""

    cells: Sequence[Cell]
    below: Sequence[Cell] = ()


@dataclass(frozen=True, slots=True)
class Setting:
    """How cells are set: size of the letters and room around them, in points."""

    size: float
    pad_x: float
    pad_y: float
    frames_bold: bool = False

    @property
    def leading(self) -> float:
        return self.size * 1.22


USUAL = Setting(6.6, 2.0, 1.8)
# For short figures; letters so small tell bold badly, so it is framed as well.
DENSE = Setting(5.4, 0.7, 1.5, frames_bold=True)


@dataclass(frozen=True, slots=True)
class Lines:
    """What a cell takes."""

    lines: Sequence[str]
    is_bold: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where a column stands: the left edge of its text, and the width of it, in points."""

    column: Column
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class WrappedRow:
    """A row as lines: of each cell, and of what stands below. Height in points."""

    cells: Sequence[Lines]
    below: Sequence[Lines]
    height: float

    @property
    def count(self) -> int:
        """Return how many lines the cells take."""
        return max(len(each.lines) for each in self.cells)

    def parts(self, setting: Setting, room: float, room_later: float) -> Iterator["WrappedRow"]:
        """Yield the row in parts that fit: itself, nearly always. Nothing is left out.

        room, room_later : points left on this page, and on one of its own
        """
        rest: WrappedRow | None = self
        if self.height <= max(room, room_later):
            yield self
            return
        while rest is not None:
            most = max(1, int((room - 2 * setting.pad_y) / setting.leading))
            taken, rest = rest._split(most, setting)
            yield taken
            room = room_later

    def _split(self, most: int, setting: Setting) -> tuple["WrappedRow", "WrappedRow | None"]:
        now = [Lines(each.lines[:most], each.is_bold) for each in self.cells]
        later = [Lines(each.lines[most:], each.is_bold) for each in self.cells]
        left = most - min(most, self.count)
        below, below_later = [], []
        for each in self.below:
            below.append(Lines(each.lines[:left], each.is_bold))
            below_later.append(Lines(each.lines[left:], each.is_bold))
            left -= min(left, len(each.lines))
        taken = _wrapped(now, [each for each in below if each.lines], setting)
        rest = [each for each in below_later if each.lines]
        if not rest and not any(each.lines for each in later):
            return taken, None
        return taken, _wrapped(later, rest, setting)


def _wrapped(cells: Sequence[Lines], below: Sequence[Lines], setting: Setting) -> WrappedRow:
    count = max(len(each.lines) for each in cells) + sum(len(each.lines) for each in below)
    return WrappedRow(cells, below, count * setting.leading + 2 * setting.pad_y)


class TableLayout:
    """The columns of a table on a page.

    left, width : of the table, in points
    """

    def __init__(
        self, columns: Sequence[Column], left: float, width: float, setting: Setting
    ) -> None:
        self.set = setting
        self.places: list[Place] = []
        whole = sum(column.width for column in columns)
        x = left
        for column in columns:
            wide = column.width / whole * width
            self.places.append(Place(column, x + setting.pad_x, wide - 2 * setting.pad_x))
            x += wide
        self.below_x = left + _SET_IN
        self._below_width = width - _SET_IN - setting.pad_x
        self.heads = [self._head(place) for place in self.places]
        tallest = max(map(self._head_height, self.places, self.heads))
        self.head_height = tallest + 2 * setting.pad_y + 1.5

    def wrap(self, row: TableRow) -> WrappedRow:
        """Return a row as the lines it takes."""
        cells = [
            self._lines(cell, place.width)
            for cell, place in zip(row.cells, self.places, strict=True)
        ]
        below = [self._lines(each, self._below_width) for each in row.below]
        return _wrapped(cells, below, self.set)

    def _lines(self, cell: Cell, width: float) -> Lines:
        is_bold = isinstance(cell, Bold)
        text = cell.text if is_bold else cell
        return Lines(lines_of(text, width, self.set.size, bold=is_bold), is_bold)

    def _head(self, place: Place) -> Sequence[str]:
        width = _LONGEST_UPRIGHT if place.column.upright else place.width
        return lines_of(place.column.head, width, self.set.size, bold=True)

    def _head_height(self, place: Place, lines: Sequence[str]) -> float:
        if place.column.upright:
            return max(width_of(line, self.set.size, bold=True) for line in lines) + 2
        return len(lines) * self.set.leading
