"""Deciding at once about all places of which nobody read something in the last days."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.forms.gaps import TogetherForm
from kegsafe.cold_chain.models import GapDecision
from kegsafe.cold_chain.queries.undecided import TOGETHER, UndecidedPlace, undecided_places
from kegsafe.equipment.models import Place
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.stock.facts import house
from kegsafe.venues.access import MANAGERS, VenueRequest, page


@page(read=MANAGERS, post=MANAGERS)
def gaps_together(request: VenueRequest) -> HttpResponse:
    """Decide what the unread time of all ticked places counts as."""
    now, venue = timezone.now(), request.venue
    places = list(Place.objects.filter(venue=venue).select_related("venue"))
    if not set(request.POST.getlist("ticked")) <= {str(place.pk) for place in places}:
        raise Http404("This is no place of this venue.")
    form = TogetherForm(request.POST or None, venue=venue.pk, places=places, units=venue.units)
    if form.is_valid():
        with errors_shown_in(form):
            decided = services.decide_gaps(
                venue=venue, decided_at=now, by=request.membership.recorder, **form.values()
            )
    if form.is_bound and form.is_valid():
        messages.success(request, _recorded(decided))
        return redirect("cold-gaps")
    active = [place for place in places if place.is_active]
    found = undecided_places(active, house(venue), now)
    rows = [_row(place, form, found.get(place.pk)) for place in places]
    context = {
        "form": form,
        "rows": [row for row in rows if row["gaps"] or row["field"].errors],
        "not_read_now": [each for each in found.values() if each.open_since],
        "earlier": sum(each.earlier for each in found.values()),
        "days": TOGETHER.days,
        "cancel_url": reverse("cold-gaps"),
    }
    return render(request, "cold_chain/gaps_together.html", context)


def _row(place: Place, form: TogetherForm, found: UndecidedPlace | None) -> dict[str, Any]:
    return {
        "place": place,
        "gaps": found.gaps if found else (),
        "shown": found.shown if found else "",
        "field": form[f"place-{place.pk}"],
        "is_ticked": str(place.pk) in form.ticks,
    }


def _recorded(decided: list[GapDecision]) -> str:
    stretches, places = len(decided), len({each.place_id for each in decided})
    return (
        f"Recorded: what {stretches} unread stretch{'' if stretches == 1 else 'es'} in "
        f"{places} place{'' if places == 1 else 's'} count{'s' if stretches == 1 else ''} as."
    )
