"""Pages of suppliers."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from kegsafe.stock import queries, services
from kegsafe.stock.forms.suppliers import SupplierAmendForm, SupplierForm
from kegsafe.stock.models import Supplier
from kegsafe.stock.views.pages import act_page, list_page, sent
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def suppliers(request: VenueRequest) -> HttpResponse:
    """List the suppliers and when each last delivered."""
    return list_page(request, queries.suppliers, "stock/suppliers.html")


@page(read=MANAGERS, post=MANAGERS)
def supplier_add(request: VenueRequest) -> HttpResponse:
    """Add a supplier."""
    return act_page(
        request,
        SupplierForm(sent(request)),
        lambda form: services.add_supplier(
            venue=request.venue, by=request.membership.recorder, **form.cleaned_data
        ),
        heading="Add a supplier",
        done=lambda supplier: f"Recorded: {supplier} is on the list.",
        done_url=lambda _: reverse("suppliers"),
        cancel_url=reverse("suppliers"),
    )


@page(read=MANAGERS, post=MANAGERS)
def supplier_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend a supplier, or take it out of use."""
    supplier = get_object_or_404(Supplier, pk=pk, venue=request.venue)
    return act_page(
        request,
        SupplierAmendForm(sent(request), record=supplier),
        lambda form: services.amend_supplier(
            supplier=supplier,
            reason=form.cleaned_data["reason"],
            seen_sequence=form.cleaned_data["seen"],
            by=request.membership.recorder,
            changes=form.changes(),
        ),
        heading=f"Amend: {supplier}",
        done=lambda _: f"Recorded: {supplier} is amended; what it said first is kept.",
        done_url=lambda _: reverse("suppliers"),
        cancel_url=reverse("suppliers"),
        subject=supplier,
    )
