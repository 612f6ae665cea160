"""The chemicals on the list, their batches, and the other pieces that are cleaned."""

from django.contrib import messages
from django.db import transaction
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.forms.chemicals import BatchForm, ChemicalForm
from kegsafe.cleaning.forms.items import DrinkCarriedForm, ItemForm
from kegsafe.cleaning.models import Chemical, ChemicalBatch, CleanItem
from kegsafe.cleaning.queries import pieces_of
from kegsafe.equipment.models import Place
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def chemicals(request: VenueRequest) -> HttpResponse:
    """List the chemicals with the batches in the cupboard."""
    batches = ChemicalBatch.objects.filter(is_finished=False).order_by("-pk")
    listed = Chemical.objects.filter(venue=request.venue).prefetch_related(
        Prefetch("batches", queryset=batches)
    )
    context = {
        "chemicals": listed.order_by("name"),
        "today": timezone.localdate(),
        "may_manage": request.membership.role in MANAGERS,
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cleaning/chemicals.html", context)


@page(read=MANAGERS, post=MANAGERS)
def chemical_add(request: VenueRequest) -> HttpResponse:
    """Put a chemical on the list."""
    form = ChemicalForm(request.POST or None, instance=Chemical(venue=request.venue))
    if form.is_valid():
        with errors_shown_in(form):
            chemical = services.add_chemical(
                venue=request.venue, by=request.membership.recorder, **form.facts()
            )
            messages.success(request, f"Recorded: {chemical} is on the list. Now its batch.")
            return redirect("chemical-batch-add", chemical.pk)
    context = {"form": form, "title": "Put a chemical on the list", "cancel": "chemicals"}
    return render(request, "cleaning/form.html", _with_way_out(context))


@page(read=RECORDERS, post=RECORDERS)
def batch_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Put a batch of a chemical into the cupboard."""
    chemical = get_object_or_404(Chemical, pk=pk, venue=request.venue)
    form = BatchForm(request.POST or None, instance=ChemicalBatch(chemical=chemical))
    if form.is_valid():
        with errors_shown_in(form):
            services.add_batch(
                chemical=chemical, by=request.membership.recorder, **form.cleaned_data
            )
            messages.success(request, f"Recorded: a batch of {chemical}.")
            return redirect("chemicals")
    context = {"form": form, "title": f"A batch of {chemical}", "cancel": "chemicals"}
    return render(request, "cleaning/form.html", _with_way_out(context))


@page(read=EVERYBODY, post=NOBODY)
def items(request: VenueRequest) -> HttpResponse:
    """List the pieces that are cleaned besides kegs, lines and taps."""
    found = CleanItem.objects.filter(venue=request.venue).select_related("place")
    context = {"items": found, "may_manage": request.membership.role in MANAGERS}
    return render(request, "cleaning/items.html", context)


@page(read=MANAGERS, post=MANAGERS)
def item_add(request: VenueRequest) -> HttpResponse:
    """Add a piece."""
    places = Place.objects.filter(venue=request.venue, is_active=True).order_by("name")
    form = ItemForm(request.POST or None, instance=CleanItem(venue=request.venue), places=places)
    if form.is_valid():
        with errors_shown_in(form):
            item = services.add_item(
                venue=request.venue, by=request.membership.recorder, **form.cleaned_data
            )
            messages.success(request, f"Recorded: {item} is on the list.")
            return redirect("clean-items")
    context = {"form": form, "title": "Add a piece", "cancel": "clean-items"}
    return render(request, "cleaning/form.html", _with_way_out(context))


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
    context = {"form": form, "title": "What they carry", "cancel": "clean-items"}
    return render(request, "cleaning/form.html", _with_way_out(context))


def _with_way_out(context: dict[str, object]) -> dict[str, object]:
    return {**context, "cancel_url": reverse(str(context.pop("cancel")))}
