"""Logs to take away, and a venue to move. Nothing is changed and nothing is recorded here."""

import tempfile

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.text import slugify

from kegsafe.exports.formats import write_workbook
from kegsafe.exports.forms import TakeAwayForm
from kegsafe.exports.logs import PARTS, log_called
from kegsafe.exports.logs.log import Log
from kegsafe.exports.moving.packing import pack
from kegsafe.ledger.models import Chain
from kegsafe.venues.access import EVERYBODY, NOBODY, OWNERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def exports(request: VenueRequest) -> HttpResponse:
    """List the logs that this person may take away."""
    return _listed(request, TakeAwayForm())


@page(read=EVERYBODY, post=NOBODY)
def log(request: VenueRequest) -> HttpResponseBase:
    """Answer with a log over a period; days that cannot be are told at their fields."""
    if "log" not in request.GET:
        return redirect("exports")
    wanted = log_called(request.GET["log"])
    if wanted is None:
        raise Http404("There is no such log.")
    if request.membership.role not in wanted.read:
        raise PermissionDenied("This log names people. It is for manager or owner.")
    form = TakeAwayForm(request.GET)
    if not form.is_valid():
        return _listed(request, form)
    return _file_of(request, wanted, form)


@page(read=OWNERS, post=NOBODY)
def move_house(request: VenueRequest) -> HttpResponse:
    """Say what the venue's file holds, what it does not, and what to do with it."""
    chain = Chain.objects.get(pk=request.venue.chain_id)
    return render(request, "exports/move_house.html", {"chain": chain})


@page(read=OWNERS, post=NOBODY)
def venue_file(request: VenueRequest) -> HttpResponseBase:
    """Answer with the whole venue in one file."""
    # No name: it is gone when it was sent, and nobody else can open it. In the data folder,
    # because the system's own may be small or in memory.
    file = tempfile.TemporaryFile(dir=settings.DATA_DIR)  # noqa: SIM115 - the answer closes it
    try:
        pack(request.venue, file)
    except BaseException:
        file.close()
        raise
    file.seek(0)
    name = f"{_slug(request)}-{timezone.localdate():%Y-%m-%d}.zip"
    return _private(FileResponse(file, as_attachment=True, filename=name))


def _listed(request: VenueRequest, form: TakeAwayForm) -> HttpResponse:
    role = request.membership.role
    context = {
        "form": form,
        "parts": [(part, [each for each in logs if role in each.read]) for part, logs in PARTS],
    }
    return render(request, "exports/exports.html", context)


def _file_of(request: VenueRequest, wanted: Log, form: TakeAwayForm) -> HttpResponseBase:
    chosen, venue = form.chosen(), request.venue
    rows = wanted.rows(venue, form.period(venue))
    if chosen.stream is None:
        file = tempfile.TemporaryFile(dir=settings.DATA_DIR)  # noqa: SIM115 - the answer closes it
        write_workbook(wanted, rows, venue.zone, file)
        file.seek(0)
        answer: HttpResponseBase = FileResponse(file, content_type=chosen.content_type)
    else:
        blocks = chosen.stream(wanted, rows, venue.zone)
        answer = StreamingHttpResponse(blocks, content_type=chosen.content_type)
    name = f"{_slug(request)}-{wanted.key}{_days(wanted, form)}.{chosen.ending}"
    answer["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=name)
    return _private(answer)


def _days(wanted: Log, form: TakeAwayForm) -> str:
    days = [form.cleaned_data["since"], form.cleaned_data["until"]] if wanted.is_dated else []
    return "".join(f"-{day:%Y-%m-%d}" for day in days if day)


def _slug(request: VenueRequest) -> str:
    return slugify(request.venue.name) or "venue"


def _private(answer: HttpResponseBase) -> HttpResponseBase:
    answer["Cache-Control"] = "private, no-store"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
