"""A long report on paper, drawn as its rows come: pages, bookmarks, repeated heads, page x of y.

Platypus holds a whole document as objects before it draws the first page, and measures each
cell as a document of its own. Here a page is finished before the next begins, and a cell is a
few lines of text; only running text is set as paragraphs.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO

from reportlab.graphics import renderPDF
from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import HexColor, black
from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from kegsafe.reports.table_layout import (
    DENSE,
    USUAL,
    Cell,
    Column,
    Lines,
    Place,
    Setting,
    TableLayout,
    TableRow,
    WrappedRow,
)
from kegsafe.reports.text import (
    BOLD,
    REGULAR,
    new_canvas,
    paragraph,
    printable,
    shortened,
    style,
    width_of,
)

PAPERS = {"a4": A4, "letter": LETTER}

TEXT, FINE = style(8.5, leading=1.35), style(7, leading=1.35)
TITLE, PART, SUBPART = (
    style(17, bold=True, leading=1.25),
    style(11, bold=True, leading=1.3),
    style(9, bold=True, leading=1.3),
)
_HEADINGS = (TITLE, PART, SUBPART)
_SPACES = (26, 14, 9)
_LEAST_ROOM = 0.4  # of a page, for a part to begin on it

# Greys that a copier keeps apart from each other and from the text on them.
_HEAD_FILL, _RULE, _SOFT = HexColor("#e2e2e2"), HexColor("#9a9a9a"), HexColor("#3c3c3c")
_SIDE, _TOP, _FOOT = 14 * mm, 19 * mm, 17 * mm
_RUNNING = 6.8
_MOST_PAGES = "0000"  # so much room is kept for a number that is known at the end


@dataclass(frozen=True, slots=True)
class Imprint:
    """What stands on every page and in the file: nothing here comes from a clock."""

    title: str
    author: str
    foot: str
    made_at: datetime


class Paper:
    """A document that is written from its first page to its last.

    out : where the PDF goes when the paper is closed; paper : a key of `PAPERS`
    """

    def __init__(self, out: BinaryIO, paper: str, imprint: Imprint) -> None:
        self._upright_size = PAPERS[paper]
        self._size = self._upright_size
        self._imprint = imprint
        self._canvas = new_canvas(out, self._size, title=imprint.title, author=imprint.author)
        self._canvas.setSubject(printable(imprint.foot))
        self._canvas.setDateFormatter(lambda *_: f"D:{imprint.made_at:%Y%m%d%H%M%S}Z")
        self._canvas.setPageCompression(1)
        self._waiting: list[tuple[Flowable, float, _Mark | None]] = []
        self._promised: list[str] = []
        self._kept: dict[str, str] = {}
        self._marks = 0
        self._running: list[str] = []
        self._y = self._top
        self._is_begun = False

    # What a report is made of

    def section(
        self, title: str, *, key: str = "", across: bool = False, own_page: bool = False
    ) -> None:
        """Begin a part of the report, upright or across.

        A page with room enough is used on, unless the part has a page of its own.
        """
        is_turned = across != (self._size != self._upright_size)
        if own_page or is_turned or self._y - _FOOT < self._room * _LEAST_ROOM:
            self.turn(across=across)
        self.heading(title, 0, key=key)

    def turn(self, *, across: bool) -> None:
        """Go on on a new page, upright or across; an untouched page is used."""
        if self._is_begun:
            self._end_page()
        self._size = landscape(self._upright_size) if across else self._upright_size
        self._canvas.setPageSize(self._size)
        self._y = self._top

    def heading(self, text: str, level: int = 1, *, key: str = "") -> None:
        """Write a heading with its bookmark. It never ends a page: it waits for what follows.

        key : under which `contents` asks for its page
        """
        mark = _Mark(text, level, key)
        self._waiting.append((paragraph(text, style=_HEADINGS[level]), _SPACES[level], mark))

    def words(self, *pieces: Cell, look=TEXT, space: float = 3, with_next: bool = False) -> None:
        """Write a paragraph; `with_next` keeps it on the page of what follows."""
        flowable = paragraph(*pieces, style=look)
        if with_next:
            self._waiting.append((flowable, space, None))
        else:
            self._place(flowable, space)

    def picture(self, drawing: Drawing, space: float = 4) -> None:
        """Draw a picture as wide as the page, never across two of them."""
        scale = self.width / drawing.width
        self._settle(drawing.height * scale + space)
        self._y -= drawing.height * scale + space
        self._canvas.saveState()
        self._canvas.translate(_SIDE, self._y)
        self._canvas.scale(scale, scale)
        renderPDF.draw(drawing, self._canvas, 0, 0)
        self._canvas.restoreState()

    def table(
        self, columns: Sequence[Column], rows: Iterable[TableRow], *, is_dense: bool = False
    ) -> int:
        """Draw rows as they come, the heads again on each page. Returns how many there were.

        A dense table holds short figures: it is set smaller, and what is bold has a frame.
        """
        drawn = 0
        table = TableLayout(columns, _SIDE, self.width, DENSE if is_dense else USUAL)
        for row in rows:
            wrapped = table.wrap(row)
            if not drawn:
                self._settle(table.head_height + min(wrapped.height, self._room / 2) + 4)
                self._y -= 4
                self._draw_head(table)
            elif wrapped.height > self._y - _FOOT:
                self._next_page()
                self._draw_head(table)
            self._draw_row(table, wrapped)
            drawn += 1
        return drawn

    def facts(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Write labels with what belongs to each beside it, one below the other."""
        label_width = 46 * mm
        for label, value in pairs:
            said = paragraph(value, style=TEXT)
            _, height = said.wrap(self.width - label_width, self._room)
            self._settle(height + 5)
            self._y -= height + 5
            name = paragraph(label, style=FINE)
            _, name_height = name.wrap(label_width - 4, self._room)
            # On one line with the first words beside it, which are larger.
            name.drawOn(self._canvas, _SIDE, self._y + height - name_height - 1.3)
            said.drawOn(self._canvas, _SIDE + label_width, self._y)
            self._rule(self._y - 3, 0.3)

    def promise(self, key: str, x: float, y: float) -> None:
        """Leave room for a number that is known later: what `keep` or a section's key says."""
        if key not in self._promised:
            self._promised.append(key)
        self._canvas.saveState()
        self._canvas.translate(x, y)
        self._canvas.doForm(_form(key))
        self._canvas.restoreState()

    def contents(self, entries: Iterable[tuple[str, str]]) -> None:
        """List sections as key and title, each with the page it is on; a press leads there."""
        leading = 15
        for key, title in entries:
            self._settle(leading)
            self._y -= leading
            self._write(_SIDE, title, TEXT.fontSize)
            self._rule(self._y - 3.5, 0.3)
            self.promise(key, _SIDE + self.width - width_of("000", TEXT.fontSize), self._y)

    def space(self, points: float) -> None:
        """Leave a gap."""
        self._is_begun = True
        self._y -= points

    def close(self) -> int:
        """End the last page, keep every promise and write the file. Returns the pages."""
        self._settle(0)
        pages = self._canvas.getPageNumber()
        self._kept["pages"] = str(pages)
        self._end_page()
        for key in self._promised:
            size = _RUNNING if key == "pages" else TEXT.fontSize
            self._canvas.beginForm(_form(key), 0, -4, 60, 14)
            self._canvas.setFont(REGULAR, size)
            self._canvas.drawString(0, 0, self._kept.get(key, ""))
            self._canvas.endForm()
        self._canvas.showOutline()
        self._canvas.save()
        return pages

    # The page in hand

    @property
    def width(self) -> float:
        """Return the width that text and tables may take, in points."""
        return self._size[0] - 2 * _SIDE

    @property
    def _top(self) -> float:
        return self._size[1] - _TOP

    @property
    def _room(self) -> float:
        return self._top - _FOOT

    def _place(self, flowable: Flowable, space: float) -> None:
        _, height = flowable.wrap(self.width, self._room)
        two_lines = min(height, 2 * TEXT.leading)
        self._settle(two_lines + space)
        if height + space <= self._y - _FOOT:
            self._draw(flowable, height, space)
            return
        for piece in flowable.split(self.width, self._y - _FOOT - space) or [flowable]:
            _, height = piece.wrap(self.width, self._room)
            if height + space > self._y - _FOOT:
                self._next_page()
            self._draw(piece, height, space)

    def _settle(self, needed: float) -> None:
        """Draw the headings that wait, on the page that also holds what follows them."""
        measured = [
            (flowable, flowable.wrap(self.width, self._room)[1], space, mark)
            for flowable, space, mark in self._waiting
        ]
        self._waiting = []
        heights = sum(height + space for _, height, space, _ in measured)
        if heights + needed > self._y - _FOOT and self._is_begun:
            self._next_page()
        for flowable, height, space, mark in measured:
            if mark:
                self._bookmark(mark)
            self._draw(flowable, height, space)
        self._is_begun = True

    def _draw(self, flowable: Flowable, height: float, space: float) -> None:
        # What begins a page needs no gap above it.
        gap = space if self._y < self._top else 0
        self._y -= gap + height
        flowable.drawOn(self._canvas, _SIDE, self._y)
        self._is_begun = True

    def _bookmark(self, mark: "_Mark") -> None:
        if mark.level == 0:
            # Of the part before nothing stands on a page that begins with this one.
            self._running = [*(self._running if self._y < self._top else []), mark.text]
        if mark.key:
            self._kept[mark.key] = str(self._canvas.getPageNumber())
        key = f"mark-{self._marks}"
        self._marks += 1
        self._canvas.bookmarkHorizontal(key, 0, self._y)
        self._canvas.addOutlineEntry(
            shortened(printable(mark.text), 80), key, min(mark.level, 1), closed=mark.level == 0
        )

    def _draw_head(self, table: TableLayout) -> None:
        bottom = self._y - table.head_height
        self._canvas.setFillColor(_HEAD_FILL)
        self._canvas.rect(_SIDE, bottom, self.width, table.head_height, stroke=0, fill=1)
        self._canvas.setFillColor(black)
        for place, lines in zip(table.places, table.heads, strict=True):
            head = Lines(lines, is_bold=True)
            if place.column.upright:
                self._write_upright(table.set, place, head, bottom)
            else:
                first = bottom + table.set.pad_y + 1.2 + (len(lines) - 1) * table.set.leading
                self._write_lines(table.set, place.x, first, head)
        self._y = bottom
        self._is_begun = True
        self._rule(bottom, 0.8)

    def _draw_row(self, table: TableLayout, row: WrappedRow) -> None:
        """Draw a row; one that is taller than a page goes on on the next."""
        setting = table.set
        for part in row.parts(setting, self._y - _FOOT, self._room - table.head_height):
            if part.height > self._y - _FOOT:
                self._next_page()
                self._draw_head(table)
            first = self._y - setting.pad_y - setting.size
            writing = _Writing(self._canvas, setting)
            for place, cell in zip(table.places, part.cells, strict=True):
                writing.add(_start(table, place, cell), first, cell)
                if setting.frames_bold and cell.is_bold:
                    self._frame(setting, place, first, cell)
            below = first - part.count * setting.leading
            for each in part.below:
                writing.add(table.below_x, below, each)
                below -= len(each.lines) * setting.leading
            writing.end()
            self._y -= part.height
            self._rule(self._y, 0.3)

    def _frame(self, setting: Setting, place: Place, y: float, cell: Lines) -> None:
        self._canvas.setStrokeColor(black)
        self._canvas.setLineWidth(0.5)
        high = len(cell.lines) * setting.leading
        bottom = y + setting.size - high + 0.2
        left, wide = place.x - setting.pad_x + 0.2, place.width + 2 * setting.pad_x - 0.8
        self._canvas.rect(left, bottom, wide, high - 0.6)

    def _write_lines(self, setting: Setting, x: float, y: float, cell: Lines) -> None:
        writing = _Writing(self._canvas, setting)
        writing.add(x, y, cell)
        writing.end()

    def _write_upright(self, setting: Setting, place: Place, head: Lines, bottom: float) -> None:
        self._canvas.saveState()
        middle = place.x + place.width / 2 + setting.size / 2.6
        over = (len(head.lines) - 1) * setting.leading / 2
        self._canvas.translate(middle - over, bottom + setting.pad_y + 1)
        self._canvas.rotate(90)
        self._write_lines(setting, 0, 0, head)
        self._canvas.restoreState()

    def _write(self, x: float, text: str, size: float) -> None:
        self._canvas.setFont(REGULAR, size)
        self._canvas.setFillColor(black)
        self._canvas.drawString(x, self._y, printable(text))

    def _rule(self, y: float, thickness: float) -> None:
        self._canvas.setStrokeColor(_RULE)
        self._canvas.setLineWidth(thickness)
        self._canvas.line(_SIDE, y, _SIDE + self.width, y)

    def _next_page(self) -> None:
        self._end_page()
        self._y = self._top

    def _end_page(self) -> None:
        self._draw_running()
        self._canvas.showPage()
        self._running = self._running[-1:]
        self._is_begun = False

    def _draw_running(self) -> None:
        """Print what every page carries: whose report, which part, what it rests on, which page."""
        canvas, right = self._canvas, _SIDE + self.width
        canvas.setFont(REGULAR, _RUNNING)
        canvas.setFillColor(_SOFT)
        part = printable(" · ".join(self._running))
        title = _fitting(self._imprint.title, self.width - width_of(part, _RUNNING) - 12)
        head = self._top + 5 * mm
        canvas.drawString(_SIDE, head, title)
        canvas.drawString(right - width_of(part, _RUNNING), head, part)
        self._rule(head - 4, 0.4)
        page = f"Page {canvas.getPageNumber()} of "
        number = right - width_of(_MOST_PAGES, _RUNNING)
        start = number - width_of(page, _RUNNING)
        canvas.drawString(start, _FOOT - 6 * mm, page)
        self.promise("pages", number, _FOOT - 6 * mm)
        canvas.drawString(_SIDE, _FOOT - 6 * mm, _fitting(self._imprint.foot, start - _SIDE - 12))
        canvas.setFillColor(black)


@dataclass(frozen=True, slots=True)
class _Mark:
    text: str
    level: int
    key: str


class _Writing:
    """The text of a row as one object of the page: a font is named only where it changes."""

    def __init__(self, canvas: Canvas, setting: Setting) -> None:
        self._canvas, self._setting = canvas, setting
        self._text = canvas.beginText()
        self._text.setLeading(setting.leading)
        self._font = ""

    def add(self, x: float, y: float, cell: Lines) -> None:
        """Write the lines of a cell, the first of them at a place on the page."""
        if not any(cell.lines):
            return
        font = BOLD if cell.is_bold else REGULAR
        if font != self._font:
            self._text.setFont(font, self._setting.size, self._setting.leading)
            self._font = font
        self._text.setTextOrigin(x, y)
        if len(cell.lines) == 1:
            self._text.textOut(cell.lines[0])
        else:
            for line in cell.lines:
                self._text.textLine(line)

    def end(self) -> None:
        """Put it on the page."""
        if self._font:
            self._canvas.drawText(self._text)


def _start(table: TableLayout, place: Place, cell: Lines) -> float:
    """Return where a cell begins: under a head on end its mark stands in the middle."""
    if not (place.column.upright and cell.lines):
        return place.x
    wide = width_of(cell.lines[0], table.set.size, bold=cell.is_bold)
    return place.x + (place.width - wide) / 2


def _form(key: str) -> str:
    return f"promised-{key}"


def _fitting(text: str, width: float) -> str:
    """Return a text on one line that is no wider: cut with a mark where it would be."""
    shown = printable(text)
    while len(shown) > 1 and width_of(shown, _RUNNING) > width:
        shown = shortened(shown, len(shown) - 1)
    return shown
