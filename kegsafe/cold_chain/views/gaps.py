"""Time that nobody read: what waits for a decision, and deciding."""

from datetime import UTC, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.forms.gaps import GapForm
from kegsafe.cold_chain.queries.gaps import LOOKED_BACK, PlaceGaps, gaps_of, kegs_there, whole_gap
from kegsafe.equipment.models import Place
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.rules.cold.history import Unread
from kegsafe.rules.cold.monitoring import reading_lasts
from kegsafe.stock.facts import house
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def gaps(request: VenueRequest) -> HttpResponse:
    """List the time of the last two weeks that nobody read, and why it is asked about."""
    now, at_venue = timezone.now(), house(request.venue)
    places = Place.objects.filter(venue=request.venue, is_active=True)
    found = gaps_of(places, at_venue, now - LOOKED_BACK, now, now)
    lasts = reading_lasts(at_venue, request.venue.local(now).date())
    context = {
        "waiting": [(each, part, _shown(each, part)) for each in found for part in each.waiting],
        "not_read_now": [
            (each.place, _moment(each.open_since_s))
            for each in found
            if each.open_since_s is not None
        ],
        "decided": [
            (each, part, _shown(each, part))
            for each in found
            for part in each.parts
            if part.decision is not None
        ],
        "lasts": lasts,
        "days": LOOKED_BACK.days,
        "may_decide": request.membership.role in MANAGERS,
    }
    return render(request, "cold_chain/gaps.html", context)


@page(read=MANAGERS, post=MANAGERS)
def gap(request: VenueRequest, pk: int, from_s: int, until_s: int) -> HttpResponse:
    """Decide what a stretch of a place counts as that nobody read."""
    place = get_object_or_404(Place, pk=pk, venue=request.venue)
    now = timezone.now()
    found = _asked_about(place, from_s, until_s, now)
    stretch = whole_gap(found) if found else None
    if found is None or stretch is None:
        messages.info(
            request, f"Nothing to decide here: {place} was read, or counts as above the limit."
        )
        return redirect("cold-place", pk)
    form = GapForm(request.POST or None, place=place, units=request.venue.units)
    if form.is_valid():
        with errors_shown_in(form):
            services.decide_gap(
                place=place,
                from_s=stretch[0],
                until_s=stretch[1],
                decided_at=now,
                by=request.membership.recorder,
                **form.values(),
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: what the unread time of {place} counts as.")
        return redirect("cold-gaps")
    begins, ends = (_moment(second) for second in stretch)
    context = {
        "form": form,
        "place": place,
        "from_at": begins,
        "until_at": ends,
        "long": ends - begins,
        "longest_gap": timedelta(seconds=found.longest_gap_s),
        "earlier": [part.decision for part in found.closed if part.decision is not None],
        "kegs": kegs_there(place, begins, ends),
        "cancel_url": reverse("cold-gaps"),
    }
    return render(request, "cold_chain/gap.html", context)


def _asked_about(place: Place, from_s: int, until_s: int, now: datetime) -> PlaceGaps | None:
    now_s = int(now.timestamp())
    if not 0 <= from_s < min(until_s, now_s):
        raise Http404("This is no stretch of the past.")
    from_at = datetime.fromtimestamp(from_s, UTC)
    until_at = datetime.fromtimestamp(min(until_s, now_s), UTC)
    found = gaps_of([place], house(place.venue), from_at, until_at, now)
    return found[0] if found else None


def _shown(found: PlaceGaps, part: Unread) -> dict[str, Any]:
    return {
        "from_at": _moment(part.from_s),
        "until_at": _moment(part.until_s),
        "long": timedelta(seconds=part.seconds),
        "url": reverse("cold-gap", args=[found.place.pk, part.from_s, part.until_s]),
    }


def _moment(at_s: int) -> datetime:
    return datetime.fromtimestamp(at_s, timezone.get_current_timezone())
