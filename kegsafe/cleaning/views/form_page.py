"""The page of a form, the same for chemicals and for pieces."""

from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import render

from kegsafe.venues.access import VenueRequest


def form_page(request: VenueRequest, form: BaseForm, title: str, cancel_url: str) -> HttpResponse:
    """Show a form under its title, with the way out."""
    context = {"form": form, "title": title, "cancel_url": cancel_url}
    return render(request, "cleaning/form.html", context)
