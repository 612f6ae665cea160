"""The chemicals on the list, their batches and their safety data sheets."""

from django.contrib import messages
from django.db.models import Prefetch
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.forms.chemicals import (
    BatchAmendForm,
    BatchForm,
    ChemicalAmendForm,
    ChemicalForm,
    DataSheetForm,
)
from kegsafe.cleaning.models import Chemical, ChemicalBatch, DataSheet
from kegsafe.cleaning.views.form_page import form_page
from kegsafe.frame.documents import hand_out
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def chemicals(request: VenueRequest) -> HttpResponse:
    """List the chemicals with the batches in the cupboard."""
    batches = ChemicalBatch.objects.filter(is_finished=False).order_by("-pk")
    listed = Chemical.objects.filter(venue=request.venue).prefetch_related(
        Prefetch("batches", queryset=batches), "data_sheets"
    )
    context = {
        "chemicals": listed.order_by("-is_listed", "name"),
        "today": timezone.localdate(),
        "may_manage": request.membership.role in MANAGERS,
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cleaning/chemicals.html", context)


@page(read=EVERYBODY, post=NOBODY)
def chemical(request: VenueRequest, pk: int) -> HttpResponse:
    """Show what is on record of a chemical: its label, batches and data sheets."""
    shown = _chemical(request, pk)
    context = {
        "chemical": shown,
        "batches": shown.batches.order_by("is_finished", "-pk"),
        "sheets": shown.data_sheets.all(),
        "events": history(shown),
        "today": timezone.localdate(),
        "may_manage": request.membership.role in MANAGERS,
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cleaning/chemical.html", context)


@page(read=MANAGERS, post=MANAGERS)
def chemical_add(request: VenueRequest) -> HttpResponse:
    """Put a chemical on the list."""
    form = ChemicalForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            added = services.add_chemical(
                venue=request.venue, by=request.membership.recorder, **form.facts()
            )
            messages.success(request, f"Recorded: {added} is on the list. Now its batch.")
            return redirect("chemical-batch-add", added.pk)
    return form_page(request, form, "Put a chemical on the list", reverse("chemicals"))


@page(read=MANAGERS, post=MANAGERS)
def chemical_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what is on record of a chemical, or take it off the list."""
    shown = _chemical(request, pk)
    form = ChemicalAmendForm(request.POST or None, record=shown)
    if form.is_valid():
        with errors_shown_in(form):
            services.amend_chemical(
                chemical=shown,
                changes=form.changes(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
            messages.success(request, f"Recorded: {shown} is amended. Closed cycles keep theirs.")
            return redirect("chemical", pk)
    return form_page(request, form, f"{shown}: amend", reverse("chemical", args=[pk]))


@page(read=RECORDERS, post=RECORDERS)
def batch_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Put a batch of a chemical into the cupboard."""
    of = _chemical(request, pk)
    form = BatchForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            services.add_batch(chemical=of, by=request.membership.recorder, **form.cleaned_data)
            messages.success(request, f"Recorded: a batch of {of}.")
            return redirect("chemicals")
    return form_page(request, form, f"A batch of {of}", reverse("chemicals"))


@page(read=MANAGERS, post=MANAGERS)
def batch_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what is on record of a batch, or take it out of the cupboard."""
    batches = ChemicalBatch.objects.select_related("chemical")
    shown = get_object_or_404(batches, pk=pk, chemical__venue=request.venue)
    form = BatchAmendForm(request.POST or None, record=shown)
    if form.is_valid():
        with errors_shown_in(form):
            services.amend_batch(
                batch=shown,
                changes=form.changes(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
            messages.success(request, f"Recorded: {shown} is amended.")
            return redirect("chemical", shown.chemical_id)
    way_out = reverse("chemical", args=[shown.chemical_id])
    return form_page(request, form, f"{shown}: amend", way_out)


@page(read=MANAGERS, post=MANAGERS)
def sheet_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Keep a safety data sheet of a chemical."""
    of = _chemical(request, pk)
    is_sent = request.method == "POST"
    form = DataSheetForm(request.POST if is_sent else None, request.FILES if is_sent else None)
    if form.is_valid():
        with errors_shown_in(form):
            services.keep_data_sheet(
                chemical=of,
                sent=form.cleaned_data["file"],
                revised_on=form.cleaned_data["revised_on"],
                by=request.membership.recorder,
            )
            messages.success(request, f"Recorded: the data sheet is kept with {of}.")
            return redirect("chemical", pk)
    way_out = reverse("chemical", args=[pk])
    return form_page(request, form, f"Safety data sheet of {of}", way_out)


@page(read=EVERYBODY, post=NOBODY)
def sheet(request: VenueRequest, pk: int) -> FileResponse:
    """Hand out a safety data sheet: whoever works here may read it."""
    return hand_out(get_object_or_404(DataSheet, pk=pk, chemical__venue=request.venue))


def _chemical(request: VenueRequest, pk: int) -> Chemical:
    return get_object_or_404(Chemical, pk=pk, venue=request.venue)
