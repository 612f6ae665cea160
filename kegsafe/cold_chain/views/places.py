"""Pages of one place: its chart, its excursions, what was done about them, how it is cooled."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from csp.decorators import csp_replace
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date

from kegsafe.cold_chain import services
from kegsafe.cold_chain.chart_drawing import SIZES, svg
from kegsafe.cold_chain.forms.places import ActionForm, CoolingForm
from kegsafe.cold_chain.models import CorrectiveAction, PlaceCooling
from kegsafe.cold_chain.queries.chart import Piece, Thinned, thinned
from kegsafe.cold_chain.queries.standing import PlaceStanding, actions_about, standings
from kegsafe.equipment.models import Place
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.rules.cold.excursions import Excursion
from kegsafe.rules.cold.thermometers import Cause, Doubt
from kegsafe.stock.facts import house
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page

SPANS = {"day": 1, "week": 7, "month": 30, "year": 365}
_EXCURSIONS_SHOWN = 30
_TABLE_ROWS = 31


@dataclass(frozen=True, slots=True)
class Stretch:
    """What is shown: so many whole days up to and with one, in the venue's time."""

    span: str
    last_day: date
    from_at: datetime
    until_at: datetime

    @property
    def from_s(self) -> int:
        return int(self.from_at.timestamp())

    @property
    def until_s(self) -> int:
        return int(self.until_at.timestamp())

    def moved(self, days: int) -> str:
        """Return the query of the same span so many days later."""
        return f"span={self.span}&day={self.last_day + timedelta(days=days):%Y-%m-%d}"


@page(read=EVERYBODY, post=NOBODY)
def place(request: VenueRequest, pk: int) -> HttpResponse:
    """Show what a place read over a day, a week, a month or a year."""
    shown = _place(request, pk)
    stretch = _stretch(request)
    now = timezone.now()
    standing = _standing(request, shown, stretch, now)
    drawn = thinned(shown.pk, stretch.from_s, stretch.until_s)
    context = {
        "place": shown,
        "standing": standing,
        "standard": standing.standard,
        "stretch": stretch,
        "spans": SPANS,
        "charts": {
            size: f"{reverse('cold-chart', args=[pk, size])}?{stretch.moved(0)}" for size in SIZES
        },
        "earlier": stretch.moved(-SPANS[stretch.span]),
        "later": stretch.moved(SPANS[stretch.span]) if stretch.until_at < now else "",
        "excursions": _with_actions(standing),
        "excursions_found": len(standing.record.excursions) if standing.record else 0,
        "rows": _table(drawn, standing.standard.doubts),
        "doubts": _doubts(standing.standard.doubts, stretch),
        "by_day": drawn.until_s - drawn.from_s > _TABLE_ROWS * 3600,
        "count": sum(piece.readings for piece in drawn.pieces),
        "loggers": shown.loggers.all(),
        "logs": shown.imported_logs.all()[:10],
        "may_change": request.membership.role in MANAGERS,
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cold_chain/place.html", context)


# A drawing carries its own styles and is shown as a picture; it may load nothing at all.
@csp_replace({"default-src": ["'none'"], "style-src": ["'unsafe-inline'"]})
@page(read=EVERYBODY, post=NOBODY)
def chart(request: VenueRequest, pk: int, size: str) -> HttpResponse:
    """Draw what a place read over a stretch."""
    if size not in SIZES:
        raise Http404("There is no chart of this size.")
    shown = _place(request, pk)
    stretch = _stretch(request)
    standing = _standing(request, shown, stretch, timezone.now())
    drawn = thinned(shown.pk, stretch.from_s, stretch.until_s)
    picture = svg(standing, drawn, request.venue.zone, request.venue.units, size)
    return HttpResponse(picture, content_type="image/svg+xml")


@page(read=MANAGERS, post=MANAGERS)
def cooling_of_place(request: VenueRequest, pk: int) -> HttpResponse:
    """Say how cold a place is meant to be, how often it is read and by which thermometer."""
    shown = _place(request, pk)
    known = PlaceCooling.objects.filter(place=shown).first()
    form = CoolingForm(request.POST or None, place=shown, known=known, units=request.venue.units)
    if form.is_valid():
        with errors_shown_in(form):
            services.set_cooling(
                place=shown,
                values=form.values(),
                reason=form.cleaned_data.get("reason", ""),
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: how {shown} is cooled.")
        return redirect("cold-place", pk)
    context = {
        "form": form,
        "heading": f"{shown}: how it is cooled",
        "events": history(known) if known else [],
        "cancel_url": reverse("cold-place", args=[pk]),
    }
    return render(request, "cold_chain/form.html", context)


@page(read=RECORDERS, post=RECORDERS)
def action(request: VenueRequest, pk: int, from_s: int) -> HttpResponse:
    """Record what was done about an excursion."""
    shown = _place(request, pk)
    form = ActionForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            services.record_action(
                place=shown,
                excursion_from_s=min(from_s, 2**62),
                what=form.cleaned_data["what"],
                taken_at=form.cleaned_data["taken_at"] or timezone.now(),
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the corrective action.")
        return redirect("cold-place", pk)
    context = {
        "form": form,
        "heading": f"{shown}: corrective action",
        "caution": "Hold the drinks that stood there until the manager has decided. Chilling them "
        "again does not take the warm time back.",
        "cancel_url": reverse("cold-place", args=[pk]),
    }
    return render(request, "cold_chain/form.html", context)


def _place(request: VenueRequest, pk: int) -> Place:
    return get_object_or_404(Place, pk=pk, venue=request.venue)


def _stretch(request: HttpRequest) -> Stretch:
    """Read which stretch is asked for; what cannot be read is today."""
    span = request.GET.get("span", "day")
    span = span if span in SPANS else "day"
    today = timezone.localdate()
    try:
        day = parse_date(request.GET.get("day", "")) or today
    except ValueError:
        day = today
    day = min(max(day, date(2000, 1, 1)), today)
    zone = timezone.get_current_timezone()
    first = day - timedelta(days=SPANS[span] - 1)
    return Stretch(
        span,
        day,
        datetime.combine(first, time(), zone),
        datetime.combine(day + timedelta(days=1), time(), zone),
    )


def _standing(
    request: VenueRequest, shown: Place, stretch: Stretch, now: datetime
) -> PlaceStanding:
    until_at = min(stretch.until_at, now)
    [found] = standings([shown], house(request.venue), stretch.from_at, until_at, now)
    return found


def _with_actions(
    standing: PlaceStanding,
) -> list[tuple[Excursion, dict[str, Any], list[CorrectiveAction]]]:
    """Return the newest excursions with what was done about each: one query."""
    found = standing.record.excursions if standing.record else ()
    newest = [(standing.place, each) for each in reversed(found[-_EXCURSIONS_SHOWN:])]
    return [
        (each, shown_excursion(each), done)
        for (_, each), done in zip(newest, actions_about(newest), strict=True)
    ]


def shown_excursion(found: Excursion) -> dict[str, Any]:
    """Return an excursion as a page writes it."""
    return {
        "from_at": _moment(found.from_s),
        "until_at": _moment(found.until_s),
        "above": timedelta(seconds=found.above_s),
        "warmest": found.warmest_degc,
        "warmest_at": _moment(found.warmest_at_s),
        "line": timedelta(seconds=round(found.line_s)),
        "unread": timedelta(seconds=found.unread_s) if found.unread_s else None,
        "area": f"{found.area_degc_h:.2f}",
        "equivalent": f"{found.equivalent_h:.2f}",
    }


def _moment(at_s: int) -> datetime:
    return datetime.fromtimestamp(at_s, timezone.get_current_timezone())


def _doubts(doubts: Sequence[Doubt], stretch: Stretch) -> list[Doubt]:
    """Return the doubts in the stretch shown that a check brought; the others are a finding."""
    return [
        doubt
        for doubt in doubts
        if doubt.cause is Cause.FAILED and doubt.meets(stretch.from_at, stretch.until_at)
    ]


def _table(drawn: Thinned, doubts: Sequence[Doubt]) -> list[dict[str, Any]]:
    """Return a stretch as a few rows of coldest and warmest, for those who do not see the chart."""
    even = 3600 if drawn.until_s - drawn.from_s <= _TABLE_ROWS * 3600 else 86_400
    wide = even * -(-(drawn.until_s - drawn.from_s) // (even * _TABLE_ROWS))
    rows: dict[int, list[Piece]] = defaultdict(list)
    for piece in drawn.pieces:
        rows[(piece.first_s - drawn.from_s) // wide].append(piece)
    return [
        {
            "from_at": _moment(pieces[0].first_s),
            "coldest": Decimal(min(piece.coldest for piece in pieces)) / 100,
            "warmest": Decimal(max(piece.warmest for piece in pieces)) / 100,
            "readings": sum(piece.readings for piece in pieces),
            "is_doubtful": any(
                doubt.meets(_moment(pieces[0].first_s), _moment(pieces[-1].last_s + 1))
                for doubt in doubts
            ),
        }
        for _, pieces in sorted(rows.items())
    ]
