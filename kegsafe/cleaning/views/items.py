"""The pieces that are cleaned besides kegs, lines and taps, and what each of those carries."""

from django.contrib import messages
from django.db import transaction
from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from kegsafe.cleaning import services
from kegsafe.cleaning.forms.items import DrinkCarriedForm, ItemAmendForm, ItemForm
from kegsafe.cleaning.models import CleanItem
from kegsafe.cleaning.queries import pieces_of
from kegsafe.cleaning.views.form_page import form_page
from kegsafe.equipment.models import Place
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def items(request: VenueRequest) -> HttpResponse:
    """List the pieces."""
    found = CleanItem.objects.filter(venue=request.venue).select_related("place")
    context = {
        "items": found.order_by("-is_active", "name"),
        "may_manage": request.membership.role in MANAGERS,
    }
    return render(request, "cleaning/items.html", context)


@page(read=EVERYBODY, post=NOBODY)
def item(request: VenueRequest, pk: int) -> HttpResponse:
    """Show one piece with its history."""
    shown = _item(request, pk)
    context = {
        "item": shown,
        "events": history(shown),
        "may_manage": request.membership.role in MANAGERS,
    }
    return render(request, "cleaning/item.html", context)


@page(read=MANAGERS, post=MANAGERS)
def item_add(request: VenueRequest) -> HttpResponse:
    """Add a piece."""
    form = ItemForm(request.POST or None, places=_places(request))
    if form.is_valid():
        with errors_shown_in(form):
            added = services.add_item(
                venue=request.venue, by=request.membership.recorder, **form.cleaned_data
            )
            messages.success(request, f"Recorded: {added} is on the list.")
            return redirect("clean-items")
    return form_page(request, form, "Add a piece", reverse("clean-items"))


@page(read=MANAGERS, post=MANAGERS)
def item_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what is on record of a piece, or put it away."""
    shown = _item(request, pk)
    places = _places(request, kept=shown.place_id)
    form = ItemAmendForm(request.POST or None, record=shown, places=places)
    if form.is_valid():
        with errors_shown_in(form):
            services.amend_item(
                item=shown,
                changes=form.changes(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
            messages.success(request, f"Recorded: {shown} is amended.")
            return redirect("clean-item", pk)
    return form_page(request, form, f"{shown}: amend", reverse("clean-item", args=[pk]))


@page(read=MANAGERS, post=MANAGERS)
def drinks_carried(request: VenueRequest) -> HttpResponse:
    """Record what kind of drink kegs, lines and taps carry."""
    form = DrinkCarriedForm(request.POST or None, of=pieces_of(request.venue))
    if form.is_valid():
        with errors_shown_in(form), transaction.atomic():
            for key in form.cleaned_data["pieces"]:
                services.say_drink_carried(
                    piece=form.by_key[key],
                    drink_kind=form.cleaned_data["drink_kind"],
                    by=request.membership.recorder,
                )
            messages.success(request, "Recorded: what they carry.")
            return redirect("clean-items")
    return form_page(request, form, "What they carry", reverse("clean-items"))


def _item(request: VenueRequest, pk: int) -> CleanItem:
    found = CleanItem.objects.select_related("place", "venue")
    return get_object_or_404(found, pk=pk, venue=request.venue)


def _places(request: VenueRequest, kept: int | None = None) -> QuerySet[Place]:
    """Return the places in use, and the one that a piece stands in though it is not."""
    wanted = Q(is_active=True) | Q(pk=kept)
    return Place.objects.filter(wanted, venue=request.venue).order_by("name")
