"""Pages of what is held by the clock instead of by temperature."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.forms.time_holds import (
    BeginTimeHoldForm,
    EndTimeHoldForm,
    TimeHoldReadingForm,
)
from kegsafe.cold_chain.models import TimeHold
from kegsafe.cold_chain.queries.time_holds import judged_hold
from kegsafe.cold_chain.queries.time_holds import time_holds as holds_of
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.rules.cold.time_control import options_of
from kegsafe.stock.facts import house
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def time_holds(request: VenueRequest) -> HttpResponse:
    """List what is held by time, what is still out first."""
    at_venue = house(request.venue)
    context = {
        "rows": holds_of(request.venue, at_venue, timezone.now()),
        "may_record": request.membership.role in RECORDERS,
        "options": options_of(at_venue, timezone.localdate()),
        "code": request.venue.code.name,
    }
    return render(request, "cold_chain/time_holds.html", context)


@page(read=RECORDERS, post=RECORDERS)
def time_hold_add(request: VenueRequest) -> HttpResponse:
    """Begin to hold something by the clock, where the code lets a venue choose so."""
    options = options_of(house(request.venue), timezone.localdate())
    form = BeginTimeHoldForm(request.POST or None, options=options, units=request.venue.units)
    if form.is_valid():
        typed = form.cleaned_data
        with errors_shown_in(form):
            begun = services.begin_time_hold(
                venue=request.venue,
                what=typed["what"],
                way=typed["way"],
                removed_at=typed["removed_at"] or timezone.now(),
                start_degc=typed["start_degc"].value,
                procedure=typed["procedure"],
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {begun} is held by time. Write the mark on it now.")
        return redirect(begun)
    context = {
        "form": form,
        "heading": "Hold by time",
        "caution": "One way, once: it does not go back into the cold, and what is left at its "
        "time is discarded. Ask the authority before you choose this.",
        "cancel_url": reverse("time-holds"),
    }
    return render(request, "cold_chain/form.html", context)


@page(read=EVERYBODY, post=RECORDERS)
def time_hold(request: VenueRequest, pk: int) -> HttpResponse:
    """Show the mark of something held by time; take a temperature, or what became of it."""
    shown = get_object_or_404(TimeHold, pk=pk, venue=request.venue)
    is_end = "ended_at" in request.POST  # the other form's fields have a prefix
    reading = TimeHoldReadingForm(
        None if is_end else request.POST or None, units=request.venue.units, prefix="reading"
    )
    end = EndTimeHoldForm(request.POST if is_end else None)
    if reading.is_valid():
        with errors_shown_in(reading):
            services.read_time_hold(
                hold=shown,
                read_at=reading.cleaned_data["read_at"] or timezone.now(),
                degc=reading.cleaned_data["degc"].value,
                by=request.membership.recorder,
            )
    elif end.is_valid():
        with errors_shown_in(end):
            services.end_time_hold(
                hold=shown,
                ended_at=end.cleaned_data["ended_at"] or timezone.now(),
                ended_as=end.cleaned_data["ended_as"],
                by=request.membership.recorder,
            )
    if (reading.is_bound and reading.is_valid()) or (end.is_bound and end.is_valid()):
        messages.success(request, f"Recorded: {shown}.")
        return redirect(shown)
    context = {
        "judged": judged_hold(shown, house(request.venue), timezone.now()),
        "hold": shown,
        "readings": shown.readings.all(),
        "reading": reading,
        "end": end,
        "events": history(shown),
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cold_chain/time_hold.html", context)
