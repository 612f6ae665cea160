"""The owner's audit on paper: the same audit as the page, nothing judged twice."""

from collections.abc import Iterator
from io import BytesIO

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, PageTemplate, Spacer

from kegsafe.frame.cautions import CO2_AND_PRESSURE, DEFERENCE
from kegsafe.frame.templatetags.kegsafe import local_date, local_time
from kegsafe.ledger.models import Chain
from kegsafe.pressure.audit import Audit
from kegsafe.reports.text import Bold, new_canvas, paragraph, printable, style, width_of
from kegsafe.rules.findings import Severity
from kegsafe.venues.models import Units

_MARGIN = 16 * mm
_FOOT = 7.5

_HEADING, _PART, _TEXT, _FINE = (
    style(17, bold=True),
    style(11.5, bold=True, leading=1.5),
    style(9, leading=1.3),
    style(7.5, leading=1.3),
)
# What is said stays on the page of its source, and a little apart from what comes next.
_SAID = style(9, leading=1.3)
_SAID.keepWithNext = True
_FINE.spaceAfter = 1.2 * mm
_WEIGHTS = {
    Severity.STOP: "Stop",
    Severity.ASK: "Ask",
    Severity.WARN: "Worth knowing",
    Severity.NOTE: "In order",
}


def owner_audit_pdf(audit: Audit, head: Chain, deciders: tuple[str, ...]) -> bytes:
    """Return the audit as a PDF: letter for a bar in US units, A4 elsewhere.

    head : the venue's chain, whose last entry is printed at the foot of each page, so that
        the paper can be held against the record later

    Moments are written in the time zone that is active, which a page has set to the venue's.
    """
    buffer = BytesIO()
    size = LETTER if audit.venue.units == Units.US else A4
    width, height = size[0] - 2 * _MARGIN, size[1] - 2 * _MARGIN
    frame = Frame(_MARGIN, _MARGIN + 6 * mm, width, height - 6 * mm, 0, 0, 0, 0)

    def foot(canvas: Canvas, _: BaseDocTemplate) -> None:
        _draw_foot(canvas, audit, head, size[0])

    document = BaseDocTemplate(buffer, pagesize=size)
    document.addPageTemplates(PageTemplate(frames=[frame], onPage=foot))
    title = f"Owner's audit, {audit.venue.name}, {local_date(audit.today)}"

    def canvas_of(file: BytesIO, **_: object) -> Canvas:
        return new_canvas(file, size, title=title, author=audit.venue.name)

    document.build(list(_story(audit, deciders)), canvasmaker=canvas_of)
    return buffer.getvalue()


def _story(audit: Audit, deciders: tuple[str, ...]) -> Iterator[Flowable]:
    yield paragraph("Owner's audit of pressure equipment and gas", style=_HEADING)
    yield Spacer(0, 3 * mm)
    yield paragraph(
        Bold(audit.venue.name), f", {local_date(audit.today)}. {_rules_of(audit)}", style=_TEXT
    )
    yield paragraph(_sums(audit), style=_TEXT)
    yield paragraph(Bold("Caution."), f" {CO2_AND_PRESSURE}", style=_TEXT)
    yield from _part("Open defects", _defects(audit), "No failed check is open on record.")
    yield from _part("Due, or not known and so treated as due", _due(audit), "Nothing on record.")
    yield from _part("Out of use", _out_of_use(audit), "Nothing on record.")
    yield from _part(
        "No certificate, declaration or report on file",
        _missing(audit),
        "Each has at least one paper on file. Whether it is the right one, look.",
    )
    yield from _part("Rooms", _rooms(audit), "No room with gas is on record.")
    said = (paragraph(f"• {each}", style=_TEXT) for each in (*deciders, DEFERENCE))
    yield from _part("Who decides", said, "")


def _part(heading: str, rows: Iterator[Flowable], none: str) -> Iterator[Flowable]:
    shown = list(rows) or [paragraph(none, style=_TEXT)]
    yield Spacer(0, 3 * mm)
    yield KeepTogether([paragraph(heading, style=_PART), shown[0]])
    yield from shown[1:]


def _defects(audit: Audit) -> Iterator[Flowable]:
    for check in audit.defects:
        who = f"{local_time(check.checked_at)}, {check.recorded_by}"
        yield paragraph(
            Bold(f"{check.item or check.keg}"),
            f": {check.label}, {who}. {check.comment}",
            style=_TEXT,
        )


def _due(audit: Audit) -> Iterator[Flowable]:
    for asking in audit.asking:
        due = asking.due
        yield paragraph(Bold(due.label), f": {asking.names}. {due.because}", style=_SAID)
        yield paragraph(
            f"{due.source} ({due.verified}). Who decides: {due.decided_by}.", style=_FINE
        )


def _missing(audit: Audit) -> Iterator[Flowable]:
    if audit.missing:
        yield paragraph(audit.without_papers, style=_TEXT)


def _out_of_use(audit: Audit) -> Iterator[Flowable]:
    for row in audit.out_of_use:
        reason = f", {row.service_reason}" if row.service_reason else ""
        yield paragraph(
            f"{row.kind_label} {row.name}: {row.service_word.lower()}{reason}", style=_TEXT
        )


def _rooms(audit: Audit) -> Iterator[Flowable]:
    for room, verdict in audit.rooms:
        yield paragraph(Bold(room.name), style=_SAID)
        for finding in verdict.findings:
            weight = _WEIGHTS[finding.severity]
            yield paragraph(Bold(f"{weight}."), f" {finding.statement}", style=_SAID)
            yield paragraph(f"{finding.source} ({finding.verified}).", style=_FINE)


def _rules_of(audit: Audit) -> str:
    if audit.regime is None:
        return "No country's rules are chosen: the strictest of all apply."
    return f"Rules of: {audit.regime.name}. {audit.regime.deference}"


def _sums(audit: Audit) -> str:
    return (
        f"In the register: {len(audit.rows)}. Due or not known: {audit.count_asking}. Open "
        f"defects: {len(audit.defects)}. Out of use: {len(audit.out_of_use)}. Without any paper "
        f"on file: {len(audit.missing)}."
    )


def _draw_foot(canvas: Canvas, audit: Audit, head: Chain, width: float) -> None:
    """Print what the page rests on: the entry the record stood at, and which page it is."""
    rest = f"Record at entry {head.head_sequence}, {head.head_hash[:16]}"
    page = f"page {canvas.getPageNumber()}"
    canvas.setFont("DejaVuSans", _FOOT)
    canvas.setFillColor(black)
    canvas.drawString(_MARGIN, _MARGIN, printable(f"{audit.venue.name}. {rest}"))
    canvas.drawString(width - _MARGIN - width_of(page, _FOOT), _MARGIN, page)
