"""Pages of the rooms with gas: the screening figure, the drawing, the sign."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.pressure import services
from kegsafe.pressure.deciders import DECIDERS
from kegsafe.pressure.forms.items import RoomAmendForm, RoomForm
from kegsafe.pressure.queries import regime_key, rooms_with_facts, verdicts_of
from kegsafe.pressure.queries.rooms import room_facts
from kegsafe.pressure.room_drawing import drawing_of
from kegsafe.pressure.views.pages import done, form_page, is_done, room_of
from kegsafe.rules.pressure.regimes import regime_of
from kegsafe.rules.pressure.room import WHAT_TO_DO, judge_room
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def rooms(request: VenueRequest) -> HttpResponse:
    """List the rooms with gas, each with its gravest finding."""
    context = {
        "rooms": verdicts_of(request.venue),
        "caution": CO2_AND_PRESSURE,
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "pressure/rooms.html", context)


@page(read=EVERYBODY, post=NOBODY)
def room(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a room: what happens if the largest cylinder empties, and what to do."""
    shown = get_object_or_404(rooms_with_facts(request.venue), pk=pk)
    facts = room_facts(shown)
    verdict = judge_room(facts, regime_key(request.venue))
    context = {
        "room": shown,
        "verdict": verdict,
        "regime": regime_of(request.venue.code_key),
        "drawing": drawing_of(facts, verdict),
        "percent": verdict.release and verdict.release.screening_ppm / 10_000,
        "minutes": verdict.hours_to_long_limit and verdict.hours_to_long_limit * 60,
        "what_to_do": WHAT_TO_DO,
        "deciders": DECIDERS,
        "documents": shown.documents.all(),
        "events": history(shown),
        "may_record": request.membership.role in RECORDERS,
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "pressure/room.html", context)


@page(read=EVERYBODY, post=NOBODY)
def room_sign(request: VenueRequest, pk: int) -> HttpResponse:
    """Show the sign for the door of a room, to be printed."""
    return render(
        request, "pressure/sign.html", {"room": room_of(request, pk), "what_to_do": WHAT_TO_DO}
    )


@page(read=MANAGERS, post=MANAGERS)
def room_add(request: VenueRequest) -> HttpResponse:
    """Add a room with gas."""
    form = RoomForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            added = services.add_gas_room(
                venue=request.venue, by=request.membership.recorder, **form.record_values()
            )
    if is_done(form):
        return done(request, f"{added} is on the list.", added)
    return form_page(request, form, "Add a room", reverse("gas-rooms"), caution=CO2_AND_PRESSURE)


@page(read=MANAGERS, post=MANAGERS)
def room_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what is known of a room."""
    shown = room_of(request, pk)
    form = RoomAmendForm(request.POST or None, record=shown)
    if form.is_valid():
        with errors_shown_in(form):
            services.amend_gas_room(
                room=shown,
                changes=form.record_values(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
    if is_done(form):
        return done(request, f"{shown} is amended; what it said first is kept.", shown)
    back = reverse("gas-room", args=[pk])
    return form_page(request, form, f"Amend: {shown}", back, caution=CO2_AND_PRESSURE)
