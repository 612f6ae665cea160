"""Pages of loggers and their tokens, of thermometers and their checks, and of what cools."""

from dataclasses import replace

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.forms.places import (
    BeginCoolingForm,
    CheckForm,
    CoolingReadingForm,
    LoggerForm,
    ThermometerForm,
)
from kegsafe.cold_chain.models import CoolingRecord, Logger, Thermometer, ThermometerCheck
from kegsafe.equipment.models import Place
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import Event, history
from kegsafe.rules.cold.cooling import Procedure, cooling_verdict
from kegsafe.rules.cold.thermometers import judge, standing, tolerance
from kegsafe.stock.facts import house
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page

_SHOWN = 50


@page(read=MANAGERS, post=MANAGERS)
def logger_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Put a logger on the list of a place."""
    place = get_object_or_404(Place, pk=pk, venue=request.venue)
    form = LoggerForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            added = services.add_logger(
                place=place,
                name=form.cleaned_data["name"],
                interval_s=form.interval_s(),
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {added} in {place}.")
        return redirect("cold-logger", added.pk)
    back = reverse("cold-place", args=[pk])
    context = {"form": form, "heading": f"{place}: add a logger", "cancel_url": back}
    return render(request, "cold_chain/form.html", context)


@page(read=MANAGERS, post=MANAGERS)
def logger(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a logger; give it a token, which is shown once, or end its token."""
    shown = get_object_or_404(
        Logger.objects.select_related("place"), pk=pk, place__venue=request.venue
    )
    token = ""
    if request.POST.get("act") == "give":
        token = services.give_token(logger=shown, by=request.membership.recorder)
    elif request.POST.get("act") == "revoke":
        services.revoke_token(logger=shown, by=request.membership.recorder)
        messages.success(request, "Recorded: the token is revoked. It opens nothing any more.")
        return redirect("cold-logger", pk)
    context = {
        "logger": shown,
        "token": token,
        "address": request.build_absolute_uri(reverse("logger-readings")),
        "events": [_without_shape(event) for event in history(shown)],
    }
    return render(request, "cold_chain/logger.html", context)


def _without_shape(event: Event) -> Event:
    """How its files are read is told on the page of a file, and nobody reads it as columns."""
    return replace(event, changes=tuple(each for each in event.changes if each.field != "shape"))


@page(read=EVERYBODY, post=NOBODY)
def thermometers(request: VenueRequest) -> HttpResponse:
    """List the thermometers with what their checks say."""
    at_venue, now = house(request.venue), timezone.now()
    found = Thermometer.objects.filter(venue=request.venue).prefetch_related("checks")
    rows = []
    for each in found:
        allowed = tolerance(at_venue, timezone.localdate(), is_air=each.is_air)
        checks = [check.as_fact() for check in each.checks.all()]
        rows.append((each, standing(checks, now, allowed)))
    context = {"rows": rows, "may_change": request.membership.role in MANAGERS}
    return render(request, "cold_chain/thermometers.html", context)


@page(read=MANAGERS, post=MANAGERS)
def thermometer_add(request: VenueRequest) -> HttpResponse:
    """Put a thermometer on the list."""
    form = ThermometerForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            added = services.add_thermometer(
                venue=request.venue,
                name=form.cleaned_data["name"],
                is_air=form.cleaned_data["is_air"],
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {added} is on the list. Check it in ice now.")
        return redirect("thermometer", added.pk)
    context = {
        "form": form,
        "heading": "Add a thermometer",
        "cancel_url": reverse("thermometers"),
    }
    return render(request, "cold_chain/form.html", context)


@page(read=EVERYBODY, post=RECORDERS)
def thermometer(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a thermometer's checks, and take a new one."""
    shown = get_object_or_404(Thermometer, pk=pk, venue=request.venue)
    form = CheckForm(request.POST or None, thermometer=shown, units=request.venue.units)
    if form.is_valid():
        with errors_shown_in(form):
            _record_check(request, shown, form)
    if form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the check.")
        return redirect("thermometer", pk)
    now = timezone.now()
    allowed = tolerance(house(request.venue), timezone.localdate(), is_air=shown.is_air)
    checks = list(ThermometerCheck.objects.filter(thermometer=shown))
    stands = standing([check.as_fact() for check in checks], now, allowed)
    context = {
        "thermometer": shown,
        "form": form,
        "stands": stands,
        "allowed": allowed,
        "checks": [(check, judge(check.as_fact(), allowed)) for check in checks[:_SHOWN]],
        "places": shown.places.select_related("place"),
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cold_chain/thermometer.html", context)


def _record_check(request: VenueRequest, shown: Thermometer, form: CheckForm) -> None:
    typed = form.cleaned_data
    services.record_check(
        thermometer=shown,
        checked_at=typed["checked_at"] or timezone.now(),
        method=typed["method"],
        read_degc=typed["read_degc"].value,
        altitude_m=typed["altitude"] and typed["altitude"].value,
        air_pa=typed["air_pressure"] and typed["air_pressure"].value,
        by=request.membership.recorder,
    )


@page(read=EVERYBODY, post=NOBODY)
def coolings(request: VenueRequest) -> HttpResponse:
    """List what cooled, newest first, each with its verdict."""
    found = CoolingRecord.objects.filter(venue=request.venue).prefetch_related("readings")
    context = {
        "rows": [(each, _verdict(request, each)) for each in found[:_SHOWN]],
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cold_chain/coolings.html", context)


@page(read=RECORDERS, post=RECORDERS)
def cooling_add(request: VenueRequest) -> HttpResponse:
    """Begin the record of something hot that cools."""
    form = BeginCoolingForm(request.POST or None, units=request.venue.units)
    if form.is_valid():
        typed = form.cleaned_data
        with errors_shown_in(form):
            begun = services.begin_cooling(
                venue=request.venue,
                what=typed["what"],
                procedure=typed["procedure"],
                began_at=typed["began_at"] or timezone.now(),
                degc=typed["degc"].value,
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {begun} cools. Read it again before it is due.")
        return redirect(begun)
    context = {"form": form, "heading": "Begin a cooling", "cancel_url": reverse("coolings")}
    return render(request, "cold_chain/form.html", context)


@page(read=EVERYBODY, post=RECORDERS)
def cooling(request: VenueRequest, pk: int) -> HttpResponse:
    """Show how a cooling stands against the code, and take its next temperature."""
    shown = get_object_or_404(CoolingRecord, pk=pk, venue=request.venue)
    form = CoolingReadingForm(request.POST or None, units=request.venue.units)
    if form.is_valid():
        with errors_shown_in(form):
            services.read_cooling(
                cooling=shown,
                read_at=form.cleaned_data["read_at"] or timezone.now(),
                degc=form.cleaned_data["degc"].value,
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the temperature.")
        return redirect(shown)
    context = {
        "cooling": shown,
        "form": form,
        "verdict": _verdict(request, shown),
        "readings": shown.readings.all(),
        "events": history(shown),
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cold_chain/cooling.html", context)


def _verdict(request: VenueRequest, shown: CoolingRecord) -> object:
    readings = [each.as_fact() for each in shown.readings.all()]
    on = timezone.localtime(shown.began_at).date()
    return cooling_verdict(
        readings, Procedure(shown.procedure), house(request.venue), on, timezone.now()
    )
