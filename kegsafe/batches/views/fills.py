"""Pages of fills: into the keg, onto the tap, held, released, emptied, discarded."""

from collections.abc import Callable

from django.contrib import messages
from django.forms import Form
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from kegsafe.batches import queries, services
from kegsafe.batches.filling import (
    FillVerdict,
    WantedFill,
    findings_as_filled,
    judge_fill,
)
from kegsafe.batches.forms.fills import DiscardForm, FillForm, MomentForm, TapForm
from kegsafe.batches.gas import Gas, each_lot_once, gas_behind_fills, gas_in, gas_of
from kegsafe.batches.models import Batch, Fill
from kegsafe.equipment.models import Keg, Service, Tap
from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.ledger.forms import ReasonForm, errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.stock.views.pages import act_page, list_page, may
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def fills(request: VenueRequest) -> HttpResponse:
    """List the fills, newest first."""
    return list_page(request, queries.fills, "batches/fills.html", now=timezone.now())


@page(read=EVERYBODY, post=NOBODY)
def fill(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a fill: its state, its dates and reasons as they were at filling, its gas."""
    shown = _fill(request, pk)
    tappings = list(shown.tappings.select_related("tap__line"))
    context = {
        "fill": shown,
        "tappings": tappings,
        "on_tap": any(each.ended_at is None for each in tappings),
        "gas": gas_of(shown),
        "gas_behind": each_lot_once(gas_behind_fills([pk])[pk]),
        "caution": CO2_AND_PRESSURE,
        "findings": findings_as_filled(shown),
        "events": history(shown),
        **may(request),
    }
    return render(request, "batches/fill.html", context)


@page(read=RECORDERS, post=RECORDERS)
def fill_keg(request: VenueRequest, pk: int) -> HttpResponse:
    """Fill a keg from a batch; 'Look first' shows every finding and records nothing."""
    batch = get_object_or_404(
        Batch.objects.select_related("recipe__assessment", "venue"), pk=pk, venue=request.venue
    )
    kegs = queries.kegs_to_fill(request.venue)
    form = FillForm(request.POST or None, batch=batch, kegs=kegs, initial=_keg_asked_for(request))
    verdict = _judge(batch, form) if form.is_bound and form.is_valid() else None
    if verdict is not None and "look" not in request.POST:
        with errors_shown_in(form):
            values = form.record_values()
            made = services.fill_keg(
                batch=batch,
                filled_at=form.cleaned_data["filled_at"] or timezone.now(),
                by=request.membership.recorder,
                **values,
            )
        if form.is_valid():
            messages.success(request, f"Recorded: {made}. Put its label on the keg.")
            return redirect(made)
    context = {
        "batch": batch,
        "left_ml": batch.volume_ml - batch.filled_ml,
        "form": form,
        "verdict": verdict,
        "gas": _gas(batch, form) if verdict is not None else None,
        "not_offered": _not_offered(request),
        "caution": CO2_AND_PRESSURE,
        "cancel_url": batch.get_absolute_url(),
    }
    return render(request, "batches/fill_keg.html", context)


@page(read=RECORDERS, post=RECORDERS)
def fill_tap(request: VenueRequest, pk: int) -> HttpResponse:
    """Put a keg on a tap."""
    shown = _fill(request, pk)
    return act_page(
        request,
        TapForm(request.POST or None, taps=queries.free_taps(request.venue)),
        lambda form: services.tap_keg(
            fill=shown,
            tap=form.cleaned_data["tap"],
            at=form.cleaned_data["at"] or timezone.now(),
            accept_line=form.cleaned_data["accept_line"],
            by=request.membership.recorder,
        ),
        heading=f"Tap {shown.keg}: {shown.batch.recipe}",
        done=lambda tapping: f"Recorded: {shown.keg} is on {tapping.tap}.",
        done_url=lambda _: shown.get_absolute_url(),
        cancel_url=shown.get_absolute_url(),
        template="batches/tap.html",
        not_offered=_taps_not_offered(request),
    )


@page(read=RECORDERS, post=RECORDERS)
def fill_untap(request: VenueRequest, pk: int) -> HttpResponse:
    """Take a keg off its tap."""
    shown = _fill(request, pk)
    tapping = get_object_or_404(shown.tappings.select_related("tap"), ended_at=None)
    return _act(
        request,
        shown,
        MomentForm(_posted(request)),
        lambda form: services.untap(
            tapping=tapping,
            at=form.cleaned_data["at"] or timezone.now(),
            by=request.membership.recorder,
        ),
        statement=f"Take {shown.keg} off {tapping.tap}?",
        consequence="The line counts as not cleaned until its next clean is on record.",
        act="Take it off the tap",
        done=f"Recorded: {shown.keg} is off {tapping.tap}.",
    )


@page(read=RECORDERS, post=RECORDERS)
def fill_hold(request: VenueRequest, pk: int) -> HttpResponse:
    """Put a fill on hold."""
    shown = _fill(request, pk)
    return _act(
        request,
        shown,
        ReasonForm(_posted(request)),
        lambda form: services.hold_fill(
            fill=shown, reason=form.cleaned_data["reason"], by=request.membership.recorder
        ),
        statement=f"Put {shown} on hold?",
        consequence="It does not pour until a manager releases it.",
        act="Put on hold",
        done=f"Recorded: {shown.keg} is on hold.",
    )


@page(read=MANAGERS, post=MANAGERS)
def fill_release(request: VenueRequest, pk: int) -> HttpResponse:
    """Release a fill from hold: for a manager."""
    shown = _fill(request, pk)
    return _act(
        request,
        shown,
        ReasonForm(_posted(request)),
        lambda form: services.release_fill(
            fill=shown, reason=form.cleaned_data["reason"], by=request.membership.recorder
        ),
        statement=f"Release {shown}?",
        consequence=f"It was put on hold because: {shown.state_reason}",
        act="Release it",
        done=f"Recorded: {shown.keg} is released.",
    )


@page(read=RECORDERS, post=RECORDERS)
def fill_empty(request: VenueRequest, pk: int) -> HttpResponse:
    """Record that a keg is empty."""
    shown = _fill(request, pk)
    return _act(
        request,
        shown,
        MomentForm(_posted(request)),
        lambda form: services.empty_fill(
            fill=shown, at=form.cleaned_data["at"], by=request.membership.recorder
        ),
        statement=f"{shown.keg} is empty?",
        consequence="It comes off its tap and counts as not cleaned until its next clean.",
        act="It is empty",
        done=f"Recorded: {shown.keg} is empty. Clean it before its next fill.",
    )


@page(read=RECORDERS, post=RECORDERS)
def fill_discard(request: VenueRequest, pk: int) -> HttpResponse:
    """Throw away what is left in a keg, with the reason."""
    shown = _fill(request, pk)
    return _act(
        request,
        shown,
        DiscardForm(_posted(request)),
        lambda form: services.discard_fill(
            fill=shown,
            reason=form.cleaned_data["reason"],
            at=form.cleaned_data["at"],
            by=request.membership.recorder,
        ),
        statement=f"Discard what is left of {shown}?",
        consequence="Relieve the pressure before the keg is opened. This cannot be taken back.",
        act="Discard the drink",
        done=f"Recorded: what was in {shown.keg} is discarded. Clean it before its next fill.",
        grave=True,
    )


def _act(
    request: VenueRequest,
    fill: Fill,
    form: Form,
    act_of: Callable[[Form], object],
    *,
    statement: str,
    consequence: str,
    act: str,
    done: str,
    grave: bool = False,
) -> HttpResponse:
    return act_page(
        request,
        form,
        act_of,
        heading=f"{fill.keg}: {fill.batch.recipe}",
        done=lambda _: done,
        done_url=lambda _: fill.get_absolute_url(),
        cancel_url=fill.get_absolute_url(),
        template="batches/act.html",
        statement=statement,
        consequences=[consequence],
        button=act,
        grave=grave,
    )


def _posted(request: VenueRequest) -> QueryDict | None:
    """Return what was sent, be it nothing at all: an act may have no field that must be filled."""
    return request.POST if request.method == "POST" else None


def _fill(request: VenueRequest, pk: int) -> Fill:
    return get_object_or_404(
        Fill.objects.select_related(*queries.FILL_PARTS), pk=pk, batch__venue=request.venue
    )


def _keg_asked_for(request: VenueRequest) -> dict[str, str]:
    key = request.GET.get("keg", "")
    return {"keg": key} if key.isdecimal() else {}


def _judge(batch: Batch, form: FillForm) -> FillVerdict:
    typed, values = form.cleaned_data, form.record_values()
    wanted = WantedFill(
        batch=batch,
        keg=typed["keg"],
        filled_at=typed["filled_at"] or timezone.now(),
        volume_ml=values["volume_ml"],
        set_gauge_pa=values["set_gauge_pa"],
        rest_hours=values["rest_hours"],
        accept_cross_contact=values["accept_cross_contact"],
    )
    return judge_fill(wanted, timezone.now())


def _gas(batch: Batch, form: FillForm) -> Gas:
    values = form.record_values()
    return gas_in(
        keg=values["keg"],
        batch=batch,
        volume_ml=values["volume_ml"],
        temperature_degc=values["liquid_temperature_degc"],
        set_gauge_pa=values["set_gauge_pa"],
    )


def _not_offered(request: VenueRequest) -> list[tuple[Keg, str]]:
    """Return the kegs that are not on the list, each with why not."""
    return [(keg, why) for keg in queries.kegs_with_drink(request.venue) if (why := _why_not(keg))]


def _taps_not_offered(request: VenueRequest) -> list[tuple[Tap, str]]:
    """Return the taps that are not on the list, each with why not."""
    return [
        (tap, why) for tap in queries.taps_with_drink(request.venue) if (why := _why_not_tap(tap))
    ]


def _why_not_tap(tap: Tap) -> str:
    if tap.carried_drink:
        return f"its line carries {tap.carried_drink}: take that keg off first"
    if tap.line.service != Service.IN_USE:
        return f"its line is {tap.line.get_service_display().lower()}"
    return ""


def _why_not(keg: Keg) -> str:
    if keg.held_drink:
        return f"still holds {keg.held_drink}: record it emptied or discarded first"
    if keg.service != Service.IN_USE:
        return f"{keg.get_service_display().lower()}: {keg.service_reason or 'no reason recorded'}"
    if keg.rated_gauge_pa is None:
        return "no rated pressure on record: not allowed under pressure"
    return ""
