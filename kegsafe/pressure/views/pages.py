"""What every page of this room does alike: find the thing, show a form, say what was recorded."""

from django.contrib import messages
from django.db import models
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from kegsafe.equipment.models import Keg
from kegsafe.pressure.models import GasRoom, Item
from kegsafe.venues.access import VenueRequest

PRESSURE_CAUTION = (
    "Pressure can maim. Relieve it before you open or disconnect anything, and never plug, adjust "
    "or swap a relief valve. The plate, the maker and a competent person decide."
)

_NAMES = {Item: "item", Keg: "keg", GasRoom: "room"}


def item_of(request: VenueRequest, pk: int, *, kind: str = "") -> Item:
    """Return an item of the venue, of one kind where that is asked, or 404."""
    items = Item.objects.select_related("venue", "room", "keg")
    narrowed = items.filter(kind=kind) if kind else items
    return get_object_or_404(narrowed, pk=pk, venue=request.venue)


def keg_of(request: VenueRequest, pk: int) -> Keg:
    """Return a keg of the venue, or 404."""
    return get_object_or_404(Keg.objects.select_related("venue"), pk=pk, venue=request.venue)


def room_of(request: VenueRequest, pk: int) -> GasRoom:
    """Return a room with gas of the venue, or 404."""
    return get_object_or_404(GasRoom.objects.select_related("venue"), pk=pk, venue=request.venue)


def owner_of(thing: Item | Keg | GasRoom) -> dict[str, Item | Keg | GasRoom]:
    """Return a thing by the name services and models call it."""
    return {_NAMES[type(thing)]: thing}


def url_of(thing: Item | Keg | GasRoom) -> str:
    """Return the page of a thing in this room."""
    if isinstance(thing, Keg):
        return reverse("pressure-keg", args=[thing.pk])
    return thing.get_absolute_url()


def is_done(form: Form) -> bool:
    """Say whether a form was sent and its service raised nothing against it."""
    return form.is_bound and form.is_valid()


def done(request: VenueRequest, sentence: str, to: str | models.Model) -> HttpResponse:
    """Say what was recorded, and go on."""
    messages.success(request, f"Recorded: {sentence}")
    return redirect(to)


def form_page(
    request: VenueRequest, form: Form, heading: str, cancel_url: str, **context: object
) -> HttpResponse:
    """Show a form with the caution of this room."""
    shown = {"form": form, "heading": heading, "cancel_url": cancel_url, **context}
    shown.setdefault("caution", PRESSURE_CAUTION)
    return render(request, "pressure/form.html", shown)
