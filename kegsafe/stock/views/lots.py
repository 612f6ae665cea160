"""Pages of lots: what is in stock, what each went into, and what is done to one."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.paginator import Paginator
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from kegsafe.ledger.forms import ReasonForm
from kegsafe.ledger.queries import history
from kegsafe.stock import queries, services
from kegsafe.stock.arrival import arrival_of
from kegsafe.stock.forms.lots import LotAmendForm, MomentForm
from kegsafe.stock.forms.suppliers import FindForm
from kegsafe.stock.models import Lot
from kegsafe.stock.services.drawing import KIND_OF
from kegsafe.stock.standing import Stand, standings
from kegsafe.stock.views.pages import ROWS_A_PAGE, act_page, may, sent
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page

ALL = "all"
_STANDS = {
    stand.name.lower(): stand
    for stand in (
        Stand.ENDS_SOON,
        Stand.PAST,
        Stand.UNDATED,
        Stand.ON_HOLD,
        Stand.MADE_OF_HELD,
        Stand.FROZEN,
        Stand.IN_DATE,
    )
}
_CHOICES = (
    ("", "In stock"),
    *((name, stand.words) for name, stand in _STANDS.items()),
    (ALL, "Every lot"),
)


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that is done to a lot: its words, its form and the service behind it."""

    title: str
    button: str
    statement: str
    done: str
    service: Callable[..., object]
    moment: str = ""  # the service's name for when it was done; none: it asks for a reason
    grave: bool = False


_OPEN = Act(
    "Open",
    "Record the opening",
    "Its shelf life after opening runs from then.",
    "was opened",
    services.open_lot,
    moment="opened_at",
)
_FREEZE = Act(
    "Freeze",
    "Record the freezing",
    "Whole days in the freezer are left out of the count, as the code allows.",
    "went into the freezer",
    services.freeze_lot,
    moment="frozen_at",
)
_THAW = Act(
    "Thaw",
    "Record the thawing",
    "The count goes on from then, and so does a shelf life after thawing.",
    "came out of the freezer",
    services.thaw_lot,
    moment="thawed_at",
)
_HOLD = Act(
    "Hold",
    "Put on hold",
    "Nothing is drawn from it until a manager releases it.",
    "is on hold",
    services.hold_lot,
)
_RELEASE = Act(
    "Release",
    "Release from hold",
    "It may be drawn from again. You answer for that with your name.",
    "is released",
    services.release_lot,
)
_DISCARD = Act(
    "Discard",
    "Discard what is left",
    "What is left of it counts as thrown away. This cannot be taken back.",
    "is discarded",
    services.discard_lot,
    grave=True,
)
_REJECT = Act(
    "Reject",
    "Reject the lot",
    "It goes back to the supplier. Only a lot that nothing was drawn from can be rejected.",
    "is rejected",
    services.reject_lot,
    grave=True,
)


@page(read=EVERYBODY, post=NOBODY)
def lots(request: VenueRequest) -> HttpResponse:
    """List what is in stock, what ends first on top; or every lot, newest first."""
    find = FindForm(request.GET)
    query = find.cleaned_data["q"] if find.is_valid() else ""
    now = timezone.now()
    chosen = request.GET.get("stand", "")
    shows_all = chosen == ALL
    if shows_all:
        rows: Any = queries.lots(request.venue, query=query)
    else:
        rows = queries.lots_in_stock(request.venue, now, query=query, stand=_STANDS.get(chosen))
    shown = Paginator(rows, ROWS_A_PAGE).get_page(request.GET.get("page"))
    judged = standings(list(shown), request.venue, now) if shows_all else list(shown)
    context = {
        "find": find,
        "query": query,
        "is_narrowed": bool(query or chosen),
        "chosen": chosen,
        "stands": _CHOICES,
        "page": shown,
        "standings": judged,
        **may(request),
    }
    return render(request, "stock/lots.html", context)


@page(read=EVERYBODY, post=NOBODY)
def lot(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a lot: how it stands and why, what it went into, what was done to it."""
    shown = get_object_or_404(queries.lots(request.venue), pk=pk)
    [standing] = standings([shown], request.venue, timezone.now())
    spans = list(shown.frozen_spans.all())
    context = {
        "lot": shown,
        "standing": standing,
        "arrival": arrival_of(shown, standing.house),
        "kind": KIND_OF[shown.measure].value,
        "drawn": shown.amount_received - shown.amount_left,
        "spans": spans,
        "is_frozen": any(span.thawed_at is None for span in spans),
        "draws": list(queries.draws_of(shown)),
        "draws_shown": queries.DRAWS_SHOWN,
        "events": history(shown),
        **may(request),
    }
    return render(request, "stock/lot.html", context)


@page(read=MANAGERS, post=MANAGERS)
def lot_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Correct what was recorded of a lot at the door."""
    record = get_object_or_404(
        Lot.objects.select_related("venue", "ingredient", "place"), pk=pk, venue=request.venue
    )
    return act_page(
        request,
        LotAmendForm(sent(request), record=record),
        lambda form: services.amend_lot(
            lot=record,
            reason=form.cleaned_data["reason"],
            seen_sequence=form.cleaned_data["seen"],
            by=request.membership.recorder,
            **form.record_values(),
        ),
        heading=f"Amend: {record}",
        done=lambda _: f"Recorded: {record} is amended; what it said first is kept.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
    )


@page(read=RECORDERS, post=RECORDERS)
def lot_open(request: VenueRequest, pk: int) -> HttpResponse:
    """Record that a pack was opened."""
    return _act(request, pk, _OPEN)


@page(read=RECORDERS, post=RECORDERS)
def lot_hold(request: VenueRequest, pk: int) -> HttpResponse:
    """Put a lot on hold."""
    return _act(request, pk, _HOLD)


@page(read=RECORDERS, post=RECORDERS)
def lot_freeze(request: VenueRequest, pk: int) -> HttpResponse:
    """Record that a lot went into the freezer."""
    return _act(request, pk, _FREEZE)


@page(read=RECORDERS, post=RECORDERS)
def lot_thaw(request: VenueRequest, pk: int) -> HttpResponse:
    """Record that a lot came out of the freezer."""
    return _act(request, pk, _THAW)


@page(read=MANAGERS, post=MANAGERS)
def lot_release(request: VenueRequest, pk: int) -> HttpResponse:
    """Release a lot from hold."""
    return _act(request, pk, _RELEASE)


@page(read=MANAGERS, post=MANAGERS)
def lot_discard(request: VenueRequest, pk: int) -> HttpResponse:
    """Discard what is left of a lot."""
    return _act(request, pk, _DISCARD)


@page(read=MANAGERS, post=MANAGERS)
def lot_reject(request: VenueRequest, pk: int) -> HttpResponse:
    """Turn a lot away after all."""
    return _act(request, pk, _REJECT)


def _act(request: VenueRequest, pk: int, act: Act) -> HttpResponse:
    found = get_object_or_404(Lot.objects.select_related("ingredient"), pk=pk, venue=request.venue)
    data = sent(request)
    form = MomentForm(data, moment=act.moment) if act.moment else ReasonForm(data)
    url = found.get_absolute_url()
    return act_page(
        request,
        form,
        lambda form: act.service(lot=found, by=request.membership.recorder, **_said(form, act)),
        heading=f"{act.title}: {found}",
        done=lambda _: f"Recorded: {found} {act.done}.",
        done_url=lambda _: url,
        cancel_url=url,
        template="stock/confirm.html",
        statement=act.statement,
        button=act.button,
        grave=act.grave,
    )


def _said(form: Form, act: Act) -> dict[str, datetime | str]:
    """Return what was typed by the service's names; an empty moment is now."""
    if act.moment:
        return {act.moment: form.cleaned_data[act.moment] or timezone.now()}
    return {"reason": form.cleaned_data["reason"]}
