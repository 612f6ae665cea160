"""The cleaning log for taking away: the same filters as its page, any role."""

from django.http import HttpResponse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.text import slugify

from kegsafe.cleaning.forms.log import FindCycleForm, find_cycle_form
from kegsafe.cleaning.log_words import LogRow, entry_row
from kegsafe.cleaning.queries.log import log_page
from kegsafe.ledger.models import Chain
from kegsafe.reports.cleaning_log import LogHead, log_csv, log_pdf, log_spreadsheet
from kegsafe.venues.access import EVERYBODY, NOBODY, VenueRequest, page

MOST_ROWS = 20_000
MOST_ROWS_ON_PAPER = 1_000
_SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@page(read=EVERYBODY, post=NOBODY)
def as_csv(request: VenueRequest) -> HttpResponse:
    """Answer with the log as CSV."""
    rows, _, _ = _rows(request, MOST_ROWS)
    return _file(request, log_csv(rows, request.venue.zone), "text/csv; charset=utf-8", "csv")


@page(read=EVERYBODY, post=NOBODY)
def as_spreadsheet(request: VenueRequest) -> HttpResponse:
    """Answer with the log as a workbook."""
    rows, _, _ = _rows(request, MOST_ROWS)
    return _file(request, log_spreadsheet(rows, request.venue.zone), _SHEET, "xlsx")


@page(read=EVERYBODY, post=NOBODY)
def as_pdf(request: VenueRequest) -> HttpResponse:
    """Answer with the log on paper."""
    rows, find, was_cut = _rows(request, MOST_ROWS_ON_PAPER)
    chain = Chain.objects.get(pk=request.venue.chain_id)
    head = LogHead(
        venue=request.venue.name,
        narrowed=_narrowed(find),
        printed_at=timezone.now(),
        zone=request.venue.zone,
        ledger_sequence=chain.head_sequence,
        ledger_hash=chain.head_hash,
        was_cut=was_cut,
    )
    return _file(request, log_pdf(head, rows), "application/pdf", "pdf")


def _rows(request: VenueRequest, most: int) -> tuple[list[LogRow], FindCycleForm, bool]:
    find = find_cycle_form(request.GET, request.venue)
    found = log_page(request.venue, most + 1, **find.criteria(request.venue))
    return [entry_row(entry) for entry in found[:most]], find, len(found) > most


def _narrowed(find: FindCycleForm) -> str:
    """Return the filters in words, as chosen: 'Equipment: Line 3, From: 2026-04-01'."""
    said = []
    for name, value in find.cleaned_data.items():
        if value:
            choices = dict(getattr(find.fields[name], "choices", ()))
            said.append(f"{find.fields[name].label}: {choices.get(value, value)}")
    return ", ".join(said)


def _file(request: VenueRequest, body: bytes, content_type: str, ending: str) -> HttpResponse:
    name = f"{slugify(request.venue.name)}-cleaning-{timezone.localdate()}.{ending}"
    answer = HttpResponse(body, content_type=content_type)
    answer["Content-Disposition"] = content_disposition_header(ending != "pdf", name)
    answer["Cache-Control"] = "private, no-store"
    return answer
