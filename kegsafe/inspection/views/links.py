"""The link an inspector reads a pack by: made and ended by a manager, opened by whoever has it."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from kegsafe.inspection import storage
from kegsafe.inspection.forms.links import LinkForm
from kegsafe.inspection.handing_out import file_of
from kegsafe.inspection.models import InspectionPack, InspectorLink, LinkOpening
from kegsafe.inspection.sections import titles_of
from kegsafe.inspection.services import end_link, make_link, open_link
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.venues.access import MANAGERS, NOBODY, VenueRequest, page


@never_cache
@page(read=MANAGERS, post=MANAGERS)
def pack_link(request: VenueRequest, pk: int) -> HttpResponse:
    """Make a link to a pack; its address is shown on the page that answers, once."""
    pack = get_object_or_404(InspectionPack, pk=pk, venue=request.venue)
    form, link, address = LinkForm(request.POST or None), None, ""
    if form.is_valid():
        with errors_shown_in(form):
            link, token = make_link(pack=pack, by=request.membership.recorder, **form.cleaned_data)
            address = request.build_absolute_uri(reverse("link", args=[token]))
    context = {
        "pack": pack,
        "form": form,
        "link": link,
        "address": address,
        "cancel_url": pack.get_absolute_url(),
    }
    return render(request, "inspection/link_make.html", context)


@page(read=NOBODY, post=MANAGERS)
def link_end(request: VenueRequest, pk: int) -> HttpResponse:
    """End a link at once."""
    link = get_object_or_404(
        InspectorLink.objects.select_related("pack"), pk=pk, pack__venue=request.venue
    )
    ended = end_link(link=link, by=request.membership.recorder)
    messages.success(request, f"The {ended} has ended. It opens nothing any more.")
    return redirect(link.pack)


@login_not_required
@never_cache
@require_safe
def link(request: HttpRequest, token: str) -> HttpResponse:
    """Show what was shared, to whoever has the link."""
    opened = _open(token, LinkOpening.Part.PAGE)
    venue = opened.pack.venue
    with timezone.override(venue.zone):
        context = {
            "link": opened,
            "pack": opened.pack,
            "token": token,
            "shared_by": venue,
            "deference": venue.code.deference,
            "sections": titles_of(opened.pack.sections),
        }
        answer = render(request, "inspection/link.html", context)
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer


@login_not_required
@never_cache
@require_safe
def link_pdf(request: HttpRequest, token: str) -> FileResponse:
    """Show the shared pack in the browser."""
    opened = _open(token, LinkOpening.Part.PDF)
    return file_of(opened.pack, storage.PDF, as_attachment="download" in request.GET)


@login_not_required
@never_cache
@require_safe
def link_rows(request: HttpRequest, token: str) -> FileResponse:
    """Hand out the shared pack with its rows."""
    return file_of(_open(token, LinkOpening.Part.ROWS).pack, storage.ROWS)


def _open(token: str, part: str) -> InspectorLink:
    opened = open_link(token, part, timezone.now())
    if opened is None:
        raise Http404("This link has ended, or there never was one.")
    return opened
