"""The cleaning log on paper, as CSV and as a spreadsheet, in the order an inspector reads.

All three are built from the same rows as the page. What people typed is text everywhere: a
cell that begins like a formula is not run by the program that opens it.
"""

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO, StringIO
from zoneinfo import ZoneInfo

from openpyxl import Workbook
from reportlab.lib.colors import HexColor, white
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate, Spacer, Table, TableStyle

from kegsafe.cleaning.log_words import COLUMNS, LogRow
from kegsafe.frame.sheet_cells import csv_text, text_cell
from kegsafe.reports.text import new_canvas, paragraph, style

_WIDTHS_MM = (19, 19, 18, 27, 16, 30, 22, 19, 15, 38, 14, 14, 28)
_MARGIN = 9 * mm
_SIZE = 6
_LONGEST_CELL = 700  # a row that is taller than a page cannot be set
_CAUTION = (
    "What the record shows, judged by the plan named in each row. The local code and the "
    "authority decide."
)


@dataclass(frozen=True, slots=True)
class LogHead:
    """What stands above the rows of an export."""

    venue: str
    narrowed: str
    printed_at: datetime
    zone: ZoneInfo
    ledger_sequence: int
    ledger_hash: str
    was_cut: bool = False


def log_csv(rows: Iterable[LogRow], zone: ZoneInfo) -> bytes:
    """Return the log as CSV in UTF-8, with the mark that spreadsheet programs look for."""
    out = StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows([csv_text(text) for text in texts(row, zone)] for row in rows)
    return out.getvalue().encode("utf-8-sig")


def log_spreadsheet(rows: Iterable[LogRow], zone: ZoneInfo) -> bytes:
    """Return the log as a workbook; every cell is text."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Cleaning log")
    sheet.append(list(COLUMNS))
    for row in rows:
        sheet.append([text_cell(sheet, text) for text in texts(row, zone)])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def log_pdf(head: LogHead, rows: Sequence[LogRow]) -> bytes:
    """Return the log as a PDF on A4 across, with the head of the ledger on each page."""
    out = BytesIO()
    page = landscape(A4)
    document = BaseDocTemplate(out, pagesize=page)
    frame = Frame(_MARGIN, 12 * mm, page[0] - 2 * _MARGIN, page[1] - 20 * mm, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate(frames=[frame], onPage=_foot(head)))
    document.build(
        [
            paragraph(f"{head.venue}: cleaning log", style=style(13, bold=True)),
            paragraph(_under_the_title(head, len(rows)), style=style(8)),
            Spacer(0, 3 * mm),
            _table(head, rows),
        ],
        canvasmaker=_canvas_maker(head),
    )
    return out.getvalue()


def texts(row: LogRow, zone: ZoneInfo) -> list[str]:
    """Return a row as texts in the order of `COLUMNS`; times in the venue's zone."""
    return [
        _moment(row.began_at, zone),
        _moment(row.ended_at, zone),
        row.piece,
        row.plan,
        row.result_words,
        row.chemical,
        row.strength,
        row.temperature,
        row.contact,
        row.verification,
        row.operator,
        row.verified_by,
        row.corrective,
    ]


def _moment(moment: datetime | None, zone: ZoneInfo) -> str:
    if moment is None:
        return "not recorded"
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M %Z}"


def _under_the_title(head: LogHead, count: int) -> str:
    cut = " The newest only: narrow the log by time for the others." if head.was_cut else ""
    narrowed = f" {head.narrowed}." if head.narrowed else ""
    printed = _moment(head.printed_at, head.zone)
    return f"{count} entries, newest first.{narrowed}{cut} Printed {printed}. {_CAUTION}"


def _table(head: LogHead, rows: Sequence[LogRow]) -> Table:
    cell, bold = style(_SIZE), style(_SIZE, bold=True)
    body = [[paragraph(name, style=bold) for name in COLUMNS]]
    body += [
        [paragraph(text[:_LONGEST_CELL], style=cell) for text in texts(row, head.zone)]
        for row in rows
    ]
    table = Table(body, colWidths=[width * mm for width in _WIDTHS_MM], repeatRows=1)
    table.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor("#64756f")),
                ("BACKGROUND", (0, 0), (-1, 0), HexColor("#e1e8e5")),
                ("ROWBACKGROUNDS", (0, 1), (-1, -1), [white]),
                *((f"{side}PADDING", (0, 0), (-1, -1), 2) for side in _sides()),
            ]
        )
    )
    return table


def _sides() -> Iterator[str]:
    yield from ("LEFT", "RIGHT", "TOP", "BOTTOM")


def _foot(head: LogHead):
    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        words = f"Page {document.page}. Ledger entry {head.ledger_sequence}, {head.ledger_hash}"
        foot = paragraph(words, style=style(6))
        foot.wrapOn(canvas, document.pagesize[0] - 2 * _MARGIN, 8 * mm)
        foot.drawOn(canvas, _MARGIN, 6 * mm)

    return draw


def _canvas_maker(head: LogHead):
    def make(out: BytesIO, pagesize: tuple[float, float], **_: object) -> Canvas:
        title = f"{head.venue}: cleaning log"
        return new_canvas(out, pagesize, title=title, author=head.venue)

    return make
