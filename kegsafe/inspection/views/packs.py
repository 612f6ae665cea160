"""Pages of packs: order one, see how far it is, come back later, take it away."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Max
from django.http import FileResponse, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from kegsafe.inspection import making, storage
from kegsafe.inspection.forms.packs import PackForm
from kegsafe.inspection.handing_out import file_of
from kegsafe.inspection.models import InspectionPack, PackWork
from kegsafe.inspection.sections import titles_of
from kegsafe.inspection.services import bury_the_dead, order_pack
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page

_ROWS_A_PAGE = 50


@page(read=EVERYBODY, post=NOBODY)
def packs(request: VenueRequest) -> HttpResponse:
    """List the packs, newest first, and the one that is being made."""
    bury_the_dead(request.venue, timezone.now())
    made = InspectionPack.objects.filter(venue=request.venue)
    context = {
        "page": Paginator(made, _ROWS_A_PAGE).get_page(request.GET.get("page")),
        "work": _last_work(request),
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "inspection/packs.html", context)


def _last_work(request: VenueRequest) -> PackWork | None:
    """Return the newest work, unless it came to its end: then its pack is on the list."""
    newest = PackWork.objects.filter(venue=request.venue).first()
    return newest if newest is not None and newest.state != PackWork.State.DONE else None


@page(read=MANAGERS, post=MANAGERS)
def pack_make(request: VenueRequest) -> HttpResponse:
    """Order a pack; the server goes on with it whether somebody waits or not."""
    sent = request.POST if request.method == "POST" else None
    form = PackForm(sent, venue=request.venue, today=timezone.localdate())
    work = None
    if form.is_valid():
        with errors_shown_in(form):
            work = order_pack(
                venue=request.venue, by=request.membership.recorder, **form.cleaned_data
            )
    if work is not None:
        making.start(work)
        return redirect(work)
    context = {"form": form, "heading": "Make a pack", "cancel_url": reverse("packs")}
    return render(request, "inspection/form.html", context)


@never_cache
@page(read=EVERYBODY, post=NOBODY)
def pack_work(request: VenueRequest, pk: int) -> HttpResponse:
    """Show how far a pack is; once it is made, lead to it."""
    work = _work(request, pk)
    if work.pack_id is not None:
        messages.success(request, "The pack is made.")
        return redirect("pack", work.pack_id)
    context = {"work": work, "may_change": request.membership.role in MANAGERS}
    return render(request, "inspection/work.html", context)


@never_cache
@page(read=EVERYBODY, post=NOBODY)
def pack_work_state(request: VenueRequest, pk: int) -> JsonResponse:
    """Say how far a pack is, for the page that waits."""
    work = _work(request, pk)
    return JsonResponse(
        {
            "is_under_way": work.is_under_way,
            "part": work.part,
            "done": work.parts_done,
            "parts": work.parts,
        }
    )


@page(read=EVERYBODY, post=NOBODY)
def pack(request: VenueRequest, pk: int) -> HttpResponse:
    """Show what a pack is about and rests on, and hand out its files."""
    shown = _pack(request, pk)
    context = {
        "pack": shown,
        "sections": titles_of(shown.sections),
        "links": shown.links.annotate(opened=Max("openings__opened_at")),
        "now": timezone.now(),
        "may_change": request.membership.role in MANAGERS,
        "events": history(shown),
    }
    return render(request, "inspection/pack.html", context)


@page(read=EVERYBODY, post=NOBODY)
def pack_pdf(request: VenueRequest, pk: int) -> FileResponse:
    """Hand out the pack."""
    return file_of(_pack(request, pk), storage.PDF)


@page(read=EVERYBODY, post=NOBODY)
def pack_rows(request: VenueRequest, pk: int) -> FileResponse:
    """Hand out the pack with the rows of its tables."""
    return file_of(_pack(request, pk), storage.ROWS)


def _pack(request: VenueRequest, pk: int) -> InspectionPack:
    return get_object_or_404(InspectionPack, pk=pk, venue=request.venue)


def _work(request: VenueRequest, pk: int) -> PackWork:
    bury_the_dead(request.venue, timezone.now())
    return get_object_or_404(PackWork, pk=pk, venue=request.venue)
