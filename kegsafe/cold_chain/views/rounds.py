"""Pages of the temperature round and the readings."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import queries, services
from kegsafe.cold_chain.forms.rounds import FindReadingForm, ReadingAmendForm, RoundForm
from kegsafe.cold_chain.models import Reading
from kegsafe.cold_chain.queries.standing import warm_places
from kegsafe.equipment.models import Place
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.quantities import Kind, write
from kegsafe.rules.limits import EffectiveLimit
from kegsafe.stock.facts import house
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page
from kegsafe.venues.models import Venue

ROWS_A_PAGE = 50


@page(read=EVERYBODY, post=RECORDERS)
def cold_round(request: VenueRequest) -> HttpResponse:
    """Show every cold place with its last temperature, and take the new ones."""
    places = list(queries.cold_places(request.venue))
    at_venue = house(request.venue)
    limits = queries.ColdLimits(request.venue, at_venue.local_limits)
    form = RoundForm(request.POST or None, places=places, units=request.venue.units)
    if form.is_valid():
        with errors_shown_in(form):
            stored = services.record_round(
                venue=request.venue,
                readings=form.readings(),
                read_at=form.cleaned_data["read_at"] or timezone.now(),
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        _tell(request, stored, limits)
        return redirect("cold-round")
    today = timezone.localdate()
    context = {
        "form": form,
        "warm": warm_places(places, at_venue, timezone.now()),
        "rows": [_row(place, field, limits) for place, field in form.rows()],
        "limit": limits.on(today),
        "silence": limits.silence(today),
        "may_record": request.membership.role in RECORDERS,
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "cold_chain/round.html", context)


@page(read=EVERYBODY, post=NOBODY)
def readings(request: VenueRequest) -> HttpResponse:
    """List the readings, newest first, each against the limit of its own day."""
    find = FindReadingForm(request.GET, places=queries.places_read(request.venue))
    found = queries.readings(request.venue, **find.criteria())
    shown = Paginator(found, ROWS_A_PAGE).get_page(request.GET.get("page"))
    limits = queries.cold_limits(request.venue)
    context = {
        "page": shown,
        "rows": [(reading, _exceeded(reading, limits)) for reading in shown],
        "find": find,
        "is_narrowed": bool(request.GET.get("place") or request.GET.get("q")),
        "limit": limits.on(timezone.localdate()),
        "silence": limits.silence(timezone.localdate()),
    }
    return render(request, "cold_chain/readings.html", context)


@page(read=EVERYBODY, post=NOBODY)
def reading(request: VenueRequest, pk: int) -> HttpResponse:
    """Show one reading with its history."""
    shown = _reading(request, pk)
    context = {
        "reading": shown,
        "exceeded": _exceeded(shown, queries.cold_limits(request.venue)),
        "events": history(shown),
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "cold_chain/reading.html", context)


@page(read=MANAGERS, post=MANAGERS)
def reading_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend a reading that was misread or mistyped."""
    shown = _reading(request, pk)
    form = ReadingAmendForm(request.POST or None, record=shown, units=request.venue.units)
    if form.is_valid():
        with errors_shown_in(form):
            services.amend_reading(
                reading=shown,
                changes=form.changes(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
    if form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the reading is amended; what it said first is kept.")
        return redirect("cold-reading", pk)
    context = {"form": form, "reading": shown, "cancel_url": reverse("cold-reading", args=[pk])}
    return render(request, "cold_chain/amend.html", context)


def _tell(request: VenueRequest, stored: Sequence[Reading], limits: queries.ColdLimits) -> None:
    count = len(stored)
    messages.success(request, f"Recorded: {count} temperature{'' if count == 1 else 's'}.")
    for each in stored:
        limit = _exceeded(each, limits)
        if limit:
            messages.error(request, _too_warm(request.venue, each, limit))


def _too_warm(venue: Venue, warm: Reading, limit: EffectiveLimit) -> str:
    found, most = (_written(venue, value) for value in (warm.temperature_degc, limit.value))
    return (
        f"{warm.place} was at {found}, above {most} ({limit.citation}). Ask the manager before "
        "anything from there is poured, and find out since when."
    )


def _written(venue: Venue, temperature_degc: Decimal) -> str:
    return write(temperature_degc, Kind.TEMPERATURE, venue.units)


def _row(place: Place, field: Any, limits: queries.ColdLimits) -> dict[str, Any]:
    exceeded = limits.exceeded_by(place, place.last_degc, place.last_at)
    return {"place": place, "field": field, "exceeded": exceeded}


def _exceeded(shown: Reading, limits: queries.ColdLimits) -> EffectiveLimit | None:
    return limits.exceeded_by(shown.place, shown.temperature_degc, shown.read_at)


def _reading(request: VenueRequest, pk: int) -> Reading:
    return get_object_or_404(
        Reading.objects.select_related("place"), pk=pk, place__venue=request.venue
    )
