"""Pages of deliveries: what came in, line by line."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.stock import queries, services
from kegsafe.stock.forms.deliveries import (
    INGREDIENT_NAMES,
    MOST_LINES,
    DeliveryAmendForm,
    DeliveryForm,
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
    context = {
        "delivery": shown,
        "standings": standings(list(lots), request.venue, timezone.now()),
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
    lines = lot_lines(sent(request), request.venue)
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


def _delivery_form(request: VenueRequest, form: DeliveryForm, lines) -> HttpResponse:
    context = {
        "form": form,
        "lines": lines,
        "names_id": INGREDIENT_NAMES,
        "names": lines.form_kwargs["ingredients"].names,
        "may_grow": lines.total_form_count() < MOST_LINES,
        "cancel_url": reverse("deliveries"),
        "has_suppliers": form.fields["supplier"].queryset.exists(),
    }
    return render(request, "stock/delivery_form.html", context)
