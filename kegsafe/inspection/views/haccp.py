"""Pages of the HACCP summary: as it stands, made the venue's own, amended step by step."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.inspection.forms.haccp import HaccpStepForm
from kegsafe.inspection.haccp import summary_of
from kegsafe.inspection.models import HaccpStep
from kegsafe.inspection.services import adopt_summary, amend_step
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.rules.haccp import principles, starter_steps
from kegsafe.venues.access import EVERYBODY, MANAGERS, VenueRequest, page


@page(read=EVERYBODY, post=MANAGERS)
def haccp(request: VenueRequest) -> HttpResponse:
    """Show the summary; sent, it becomes the venue's own."""
    if request.method == "POST":
        try:
            adopt_summary(venue=request.venue, by=request.membership.recorder)
        except ValidationError as refused:
            messages.error(request, " ".join(refused.messages))
        else:
            messages.success(request, "Recorded: the summary is the venue's own. Amend each step.")
        return redirect("haccp")
    steps = summary_of(request.venue, timezone.localdate())
    context = {
        "steps": steps,
        "is_own": all(step.own for step in steps),
        "principles": principles(),
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "inspection/haccp.html", context)


@page(read=MANAGERS, post=MANAGERS)
def haccp_step(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend a step of the summary."""
    step = get_object_or_404(HaccpStep, pk=pk, venue=request.venue)
    form = HaccpStepForm(request.POST if request.method == "POST" else None, record=step)
    if form.is_valid():
        with errors_shown_in(form):
            amend_step(
                step=step,
                changes=form.changes(),
                reason=form.cleaned_data["reason"],
                seen_sequence=form.cleaned_data["seen"],
                by=request.membership.recorder,
            )
    name = starter_steps()[step.step].name
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {name} is amended; what it said first is kept.")
        return redirect("haccp")
    context = {
        "form": form,
        "heading": f"HACCP summary: {name.lower()}",
        "events": history(step),
        "cancel_url": reverse("haccp"),
    }
    return render(request, "inspection/form.html", context)
