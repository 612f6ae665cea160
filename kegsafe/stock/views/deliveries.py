"""Pages of deliveries: what came in, line by line."""

from django.contrib import messages
from django.forms import BaseFormSet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.stock import queries, services
from kegsafe.stock.arrival import arrival_of
from kegsafe.stock.forms.deliveries import (
    INGREDIENT_NAMES,
    MOST_LINES,
    DeliveryAmendForm,
    DeliveryForm,
    LateLotsForm,
    lot_lines,
)
from kegsafe.stock.models import Delivery
from kegsafe.stock.standing import standings
from kegsafe.stock.views.pages import act_page, list_page, may, sent
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def deliveries(request: VenueRequest) -> HttpResponse:
    """List the deliveries, newest first."""
    return list_page(request, queries.deliveries, "stock/deliveries.html")


@page(read=EVERYBODY, post=NOBODY)
def delivery(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a delivery with its lots and history."""
    shown = get_object_or_404(
        Delivery.objects.select_related("supplier"), pk=pk, venue=request.venue
    )
    lots = queries.lots(request.venue).filter(delivery=shown).order_by("pk")
    judged = standings(list(lots), request.venue, timezone.now())
    context = {
        "delivery": shown,
        "standings": judged,
        "arrivals": [
            (each.lot, said) for each in judged if (said := arrival_of(each.lot, each.house))
        ],
        "events": history(shown),
        **may(request),
    }
    return render(request, "stock/delivery.html", context)


@page(read=RECORDERS, post=RECORDERS)
def delivery_add(request: VenueRequest) -> HttpResponse:
    """Receive a delivery: one form, as many lots as came."""
    if "more" in request.POST:
        return _with_one_more_line(request)
    form = DeliveryForm(sent(request), venue=request.venue)
    received_at = form.cleaned_data.get("received_at") if form.is_valid() else None
    lines = lot_lines(sent(request), request.venue, received_at=received_at)
    if form.is_valid() and lines.is_valid():
        with errors_shown_in(form):
            received = services.receive_delivery(
                venue=request.venue,
                supplier=form.cleaned_data["supplier"],
                received_at=form.cleaned_data["received_at"] or timezone.now(),
                document=form.cleaned_data["document"],
                lots=lines.new_lots(),
                by=request.membership.recorder,
            )
        if form.is_valid():
            messages.success(request, f"Recorded: the delivery from {received.supplier}.")
            return redirect(received)
    return _delivery_form(request, form, lines)


@page(read=RECORDERS, post=RECORDERS)
def delivery_lots(request: VenueRequest, pk: int) -> HttpResponse:
    """Add lots that were left out when a delivery was received."""
    record = get_object_or_404(
        Delivery.objects.select_related("venue", "supplier"), pk=pk, venue=request.venue
    )
    if "more" in request.POST:
        lines = lot_lines(request.POST, request.venue, more=True)
        return _forgotten_lots(request, record, LateLotsForm(initial=request.POST.dict()), lines)
    form = LateLotsForm(sent(request))
    lines = lot_lines(sent(request), request.venue, received_at=record.received_at)
    if form.is_valid() and lines.is_valid():
        with errors_shown_in(form):
            added = services.receive_lots(
                delivery=record, lots=lines.new_lots(), by=request.membership.recorder
            )
        if form.is_valid():
            messages.success(request, f"Recorded: {_count(len(added))} added to the delivery.")
            return redirect(record)
    return _forgotten_lots(request, record, form, lines)


@page(read=MANAGERS, post=MANAGERS)
def delivery_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Correct who a delivery came from, and on which document."""
    record = get_object_or_404(
        Delivery.objects.select_related("venue", "supplier"), pk=pk, venue=request.venue
    )
    return act_page(
        request,
        DeliveryAmendForm(sent(request), record=record),
        lambda form: services.amend_delivery(
            delivery=record,
            reason=form.cleaned_data["reason"],
            seen_sequence=form.cleaned_data["seen"],
            by=request.membership.recorder,
            changes=form.changes(),
        ),
        heading="Amend a delivery",
        done=lambda _: "Recorded: the delivery is amended; what it said first is kept.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
    )


def _with_one_more_line(request: VenueRequest) -> HttpResponse:
    form = DeliveryForm(initial=request.POST.dict(), venue=request.venue)
    return _delivery_form(request, form, lot_lines(request.POST, request.venue, more=True))


def _delivery_form(request: VenueRequest, form: DeliveryForm, lines: BaseFormSet) -> HttpResponse:
    context = {
        "form": form,
        "heading": "Receive a delivery",
        "act": "Record the delivery",
        "cancel_url": reverse("deliveries"),
        "lacks_suppliers": not form.fields["supplier"].queryset.exists(),
        **_of_lines(lines),
    }
    return render(request, "stock/delivery_form.html", context)


def _forgotten_lots(
    request: VenueRequest, record: Delivery, form: LateLotsForm, lines: BaseFormSet
) -> HttpResponse:
    context = {
        "form": form,
        "heading": f"Lots left out: {record}",
        "act": "Add to the delivery",
        "cancel_url": record.get_absolute_url(),
        **_of_lines(lines),
    }
    return render(request, "stock/delivery_form.html", context)


def _of_lines(lines: BaseFormSet) -> dict[str, object]:
    return {
        "lines": lines,
        "names_id": INGREDIENT_NAMES,
        "names": lines.form_kwargs["ingredients"].names,
        "may_grow": lines.total_form_count() < MOST_LINES,
    }


def _count(lots: int) -> str:
    return "1 lot is" if lots == 1 else f"{lots} lots are"
