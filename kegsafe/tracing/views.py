"""Pages of the trace, and its files to hand over. Nothing is recorded here."""

from csp.decorators import csp_replace
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.text import slugify

from kegsafe.rules.tracing import Node, Sort
from kegsafe.tracing import pages
from kegsafe.tracing.diagram import MOST_DRAWN, can_be_drawn, diagram_svg
from kegsafe.tracing.epcis import CONTENT_TYPE as EPCIS
from kegsafe.tracing.epcis import trace_events
from kegsafe.tracing.finding import MOST_FOUND, find
from kegsafe.tracing.records import FillTrace, LotTrace, trace_fill, trace_lot
from kegsafe.tracing.spreadsheet import trace_spreadsheet
from kegsafe.tracing.touched import CLEANS_SHOWN, touched_by
from kegsafe.venues.access import EVERYBODY, NOBODY, VenueRequest, page

_SVG = "image/svg+xml"
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@page(read=EVERYBODY, post=NOBODY)
def search(request: VenueRequest) -> HttpResponse:
    """Find a lot or a keg to trace by any code on it."""
    words = request.GET.get("q", "").strip()[:80]
    context = {"words": words, "found": find(request.venue, words), "most_found": MOST_FOUND}
    return render(request, "tracing/search.html", context)


@page(read=EVERYBODY, post=NOBODY)
def lot(request: VenueRequest, pk: int) -> HttpResponse:
    """Show where a lot went."""
    trace = _lot(request, pk)
    parts, unexplained = pages.parts_of(trace)
    tables = {
        "fills": pages.fill_lines(trace),
        "made": pages.made_lines(trace),
        "batches": pages.batch_lines(trace),
        "draws": list(pages.draw_lines(trace)),
        "behind": trace.lots_behind,
    }
    context = {
        "trace": trace,
        "lot": trace.lot,
        "parts": parts,
        "unexplained": unexplained,
        "counted": pages.counted(trace.records.fills),
        **{name: rows[: pages.ROWS_SHOWN] for name, rows in tables.items()},
        "was_cut": max(map(len, tables.values())) > pages.ROWS_SHOWN,
        "rows_shown": pages.ROWS_SHOWN,
        "words": pages.words_of_lot(trace),
        "can_be_drawn": can_be_drawn(trace.records),
        "most_drawn": MOST_DRAWN,
    }
    return render(request, "tracing/lot.html", context)


@page(read=EVERYBODY, post=NOBODY)
def fill(request: VenueRequest, pk: int) -> HttpResponse:
    """Show what went into a keg and what touched it."""
    trace = _fill(request, pk)
    lines = pages.behind_lines(trace)
    context = {
        "trace": trace,
        "fill": trace.fill,
        "lines": lines[: pages.ROWS_SHOWN],
        "was_cut": len(lines) > pages.ROWS_SHOWN,
        "rows_shown": pages.ROWS_SHOWN,
        "touched": touched_by(trace.fill),
        "cleans_shown": CLEANS_SHOWN,
        "words": pages.words_of_fill(trace),
        "can_be_drawn": can_be_drawn(trace.records),
        "most_drawn": MOST_DRAWN,
    }
    return render(request, "tracing/fill.html", context)


@csp_replace({"default-src": ["'none'"], "style-src": ["'unsafe-inline'"]})
@page(read=EVERYBODY, post=NOBODY)
def lot_diagram(request: VenueRequest, pk: int) -> HttpResponse:
    """Draw the trace of a lot."""
    trace = _lot(request, pk)
    return _drawn(trace, Node(Sort.LOT, pk), pages.words_of_lot(trace))


@csp_replace({"default-src": ["'none'"], "style-src": ["'unsafe-inline'"]})
@page(read=EVERYBODY, post=NOBODY)
def fill_diagram(request: VenueRequest, pk: int) -> HttpResponse:
    """Draw the trace of a fill."""
    trace = _fill(request, pk)
    return _drawn(trace, Node(Sort.FILL, pk), pages.words_of_fill(trace))


@page(read=EVERYBODY, post=NOBODY)
def lot_spreadsheet(request: VenueRequest, pk: int) -> HttpResponse:
    """Hand out the trace of a lot as a workbook for the authority."""
    trace = _lot(request, pk)
    of = f"{trace.lot.ingredient}, lot {trace.lot.code}"
    return _workbook(trace_spreadsheet(trace.records, of=of, made_at=timezone.now()), of)


@page(read=EVERYBODY, post=NOBODY)
def fill_spreadsheet(request: VenueRequest, pk: int) -> HttpResponse:
    """Hand out the trace of a fill as a workbook for the authority."""
    trace = _fill(request, pk)
    of = f"Keg {trace.fill.keg}, {trace.fill.drink}, batch {trace.fill.batch}"
    touched = touched_by(trace.fill)
    content = trace_spreadsheet(trace.records, of=of, made_at=timezone.now(), touched=touched)
    return _workbook(content, of)


@page(read=EVERYBODY, post=NOBODY)
def lot_events(request: VenueRequest, pk: int) -> HttpResponse:
    """Hand out the trace of a lot as a file of events."""
    trace = _lot(request, pk)
    return _event_file(trace, f"lot {trace.lot.code}")


@page(read=EVERYBODY, post=NOBODY)
def fill_events(request: VenueRequest, pk: int) -> HttpResponse:
    """Hand out the trace of a fill as a file of events."""
    trace = _fill(request, pk)
    return _event_file(trace, f"keg {trace.fill.keg} batch {trace.fill.batch}")


def _workbook(content: bytes, of: str) -> HttpResponse:
    return _file(content, _XLSX, f"trace {of}", "xlsx")


def _event_file(trace: LotTrace | FillTrace, of: str) -> HttpResponse:
    content = trace_events(trace.records, made_at=timezone.now())
    return _file(content, EPCIS, f"trace {of}", "jsonld")


def _lot(request: VenueRequest, pk: int) -> LotTrace:
    trace = trace_lot(request.venue, pk)
    if trace is None:
        raise Http404("No lot of this venue has that number.")
    return trace


def _fill(request: VenueRequest, pk: int) -> FillTrace:
    trace = trace_fill(request.venue, pk)
    if trace is None:
        raise Http404("No fill of this venue has that number.")
    return trace


def _drawn(trace: LotTrace | FillTrace, middle: Node, words: str) -> HttpResponse:
    if not can_be_drawn(trace.records):
        raise Http404("Too much for one drawing; the tables of the trace hold it all.")
    return HttpResponse(diagram_svg(trace.records, middle, words), content_type=_SVG)


def _file(content: bytes, content_type: str, name: str, ending: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = content_disposition_header(
        as_attachment=True, filename=f"{slugify(name)}.{ending}"
    )
    return response
