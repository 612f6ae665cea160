"""Pages of kegs, lines, taps and places."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.equipment import queries, services
from kegsafe.equipment.forms import (
    FindForm,
    KegAmendForm,
    KegForm,
    LineAmendForm,
    LineForm,
    PlaceAmendForm,
    PlaceForm,
    ServiceForm,
    TapAmendForm,
    TapForm,
)
from kegsafe.equipment.models import Keg, Line, Place, Tap
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.venues.access import (
    EVERYBODY,
    MANAGERS,
    NOBODY,
    RECORDERS,
    VenueRequest,
    page,
    posted_key,
)

ROWS_A_PAGE = 50

PRESSURE_POINTS = (
    "Relieve the pressure before a keg is opened: a lid that will not drop still holds pressure.",
    "Never set more gauge pressure than the maker's plate allows; no plate, no pressure.",
    "A dented, leaking or unreadable keg goes out of service until a competent person decides.",
)
PLATE_CAUTION = (
    "The rated pressure decides which pressure a fill is allowed. Copy it from the maker's plate "
    "and never guess it."
)


@page(read=EVERYBODY, post=NOBODY)
def kegs(request: VenueRequest) -> HttpResponse:
    """List the kegs: what each holds now, where it stands, whether it may be used."""
    return _list(request, queries.kegs, "equipment/kegs.html")


@page(read=EVERYBODY, post=NOBODY)
def keg(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a keg with everything on record about it."""
    shown = get_object_or_404(queries.kegs(request.venue), pk=pk)
    context = {
        "keg": shown,
        "uses": queries.past_uses(shown),
        "placements": queries.past_placements(shown),
        "cleans": queries.past_cleans(shown),
        "events": history(shown),
        "points": PRESSURE_POINTS,
    }
    return render(request, "equipment/keg.html", context)


@page(read=MANAGERS, post=MANAGERS)
def keg_add(request: VenueRequest) -> HttpResponse:
    """Add a keg."""
    form = KegForm(request.POST or None)
    return _add(request, form, services.add_keg, "Add a keg", reverse("kegs"))


@page(read=MANAGERS, post=MANAGERS)
def keg_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what is known of a keg."""
    record = get_object_or_404(Keg.objects.select_related("venue"), pk=pk, venue=request.venue)
    form = KegAmendForm(request.POST or None, record=record)
    return _amend(request, form, services.amend_keg, {"keg": record}, reverse("keg", args=[pk]))


@page(read=RECORDERS, post=RECORDERS)
def keg_service(request: VenueRequest, pk: int) -> HttpResponse:
    """Take a keg out of use, or put it back."""
    return _service(request, get_object_or_404(Keg, pk=pk, venue=request.venue), "keg")


@page(read=RECORDERS, post=RECORDERS)
def keg_move(request: VenueRequest, pk: int) -> HttpResponse:
    """Move a keg: the places are the buttons, so that a move is two presses."""
    moved = get_object_or_404(queries.kegs(request.venue), pk=pk)
    form = Form(request.POST if request.method == "POST" else None)
    places = queries.places_to_stand(request.venue)
    if form.is_valid():
        place = get_object_or_404(places, pk=posted_key(request, "place"))
        with errors_shown_in(form):
            services.place_keg(
                keg=moved, place=place, at=timezone.now(), by=request.membership.recorder
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {moved} stands in {place}.")
        return redirect("keg", pk)
    return render(request, "equipment/move.html", {"keg": moved, "places": places, "form": form})


@page(read=EVERYBODY, post=NOBODY)
def lines(request: VenueRequest) -> HttpResponse:
    """List the lines and what each carries now."""
    return _list(request, queries.lines, "equipment/lines.html")


@page(read=EVERYBODY, post=NOBODY)
def line(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a line with everything on record about it."""
    shown = get_object_or_404(queries.lines(request.venue), pk=pk)
    context = {
        "line": shown,
        "uses": queries.past_uses(shown),
        "cleans": queries.past_cleans(shown),
        "events": history(shown),
    }
    return render(request, "equipment/line.html", context)


@page(read=MANAGERS, post=MANAGERS)
def line_add(request: VenueRequest) -> HttpResponse:
    """Add a line."""
    form = LineForm(request.POST or None)
    return _add(request, form, services.add_line, "Add a line", reverse("lines"))


@page(read=MANAGERS, post=MANAGERS)
def line_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what is known of a line."""
    record = get_object_or_404(Line.objects.select_related("venue"), pk=pk, venue=request.venue)
    form = LineAmendForm(request.POST or None, record=record)
    return _amend(request, form, services.amend_line, {"line": record}, reverse("line", args=[pk]))


@page(read=RECORDERS, post=RECORDERS)
def line_service(request: VenueRequest, pk: int) -> HttpResponse:
    """Take a line out of use, or put it back."""
    return _service(request, get_object_or_404(Line, pk=pk, venue=request.venue), "line")


@page(read=EVERYBODY, post=NOBODY)
def taps(request: VenueRequest) -> HttpResponse:
    """List the taps and the line behind each."""
    return _list(request, queries.taps, "equipment/taps.html")


@page(read=MANAGERS, post=MANAGERS)
def tap_add(request: VenueRequest) -> HttpResponse:
    """Add a tap."""
    form = TapForm(request.POST or None, venue=request.venue)
    return _add(request, form, services.add_tap, "Add a tap", reverse("taps"))


@page(read=MANAGERS, post=MANAGERS)
def tap_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend a tap."""
    record = get_object_or_404(
        Tap.objects.select_related("venue", "line"), pk=pk, venue=request.venue
    )
    form = TapAmendForm(request.POST or None, record=record)
    return _amend(request, form, services.amend_tap, {"tap": record}, reverse("taps"))


@page(read=EVERYBODY, post=NOBODY)
def places(request: VenueRequest) -> HttpResponse:
    """List the places where kegs and lots stand."""
    return _list(request, queries.places, "equipment/places.html")


@page(read=MANAGERS, post=MANAGERS)
def place_add(request: VenueRequest) -> HttpResponse:
    """Add a place."""
    form = PlaceForm(request.POST or None)
    return _add(request, form, services.add_place, "Add a place", reverse("places"))


@page(read=MANAGERS, post=MANAGERS)
def place_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend a place."""
    record = get_object_or_404(Place, pk=pk, venue=request.venue)
    form = PlaceAmendForm(request.POST or None, record=record)
    return _amend(request, form, services.amend_place, {"place": record}, reverse("places"))


def _list(request: VenueRequest, rows: Callable[..., QuerySet[Any]], template: str) -> HttpResponse:
    find = FindForm(request.GET)
    query = find.cleaned_data["q"] if find.is_valid() else ""
    paginator = Paginator(rows(request.venue, query=query), ROWS_A_PAGE)
    context = {
        "page": paginator.get_page(request.GET.get("page")),
        "find": find,
        "query": query,
        "may_change": request.membership.role in MANAGERS,
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, template, context)


def _add(
    request: VenueRequest,
    form: Form,
    service: Callable[..., Keg | Line | Tap | Place],
    heading: str,
    list_url: str,
) -> HttpResponse:
    if form.is_valid():
        with errors_shown_in(form):
            added = service(
                venue=request.venue, by=request.membership.recorder, **form.record_values()
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {added} is on the list.")
        return redirect(list_url)
    return _form_page(request, form, heading, list_url)


def _amend(
    request: VenueRequest,
    form: Form,
    service: Callable[..., object],
    subject: dict[str, Keg | Line | Tap | Place],
    done_url: str,
) -> HttpResponse:
    (record,) = subject.values()
    heading = f"Amend: {record}"
    if form.is_valid():
        with errors_shown_in(form):
            service(
                **subject,
                changes=form.record_values(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {record} is amended; what it said first is kept.")
        return redirect(done_url)
    return _form_page(request, form, heading, done_url)


def _service(request: VenueRequest, item: Keg | Line, url_name: str) -> HttpResponse:
    form = ServiceForm(request.POST or None, item=item)
    if form.is_valid():
        with errors_shown_in(form):
            services.set_service(item, by=request.membership.recorder, **form.cleaned_data)
    done_url = reverse(url_name, args=[item.pk])
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {item} is {item.get_service_display().lower()}.")
        return redirect(done_url)
    return _form_page(request, form, f"{item}: may it be used?", done_url)


def _form_page(request: HttpRequest, form: Form, heading: str, cancel_url: str) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "cancel_url": cancel_url,
        "caution": PLATE_CAUTION if "rated_pressure" in form.fields else "",
    }
    return render(request, "equipment/form.html", context)
