"""Pages of what competent persons judged: every judgement on record, and what rests on it."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from kegsafe.stock import queries, services
from kegsafe.stock.forms.shelf_lives import AssessmentAmendForm
from kegsafe.stock.models import ProductAssessment
from kegsafe.stock.views.pages import act_page, list_page, sent
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def assessments(request: VenueRequest) -> HttpResponse:
    """List the judgements, newest first."""
    return list_page(
        request, queries.assessments, "stock/assessments.html", today=timezone.localdate()
    )


@page(read=MANAGERS, post=MANAGERS)
def assessment_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Correct what was copied from a document, or let the judgement end."""
    record = get_object_or_404(ProductAssessment, pk=pk, venue=request.venue)
    return act_page(
        request,
        AssessmentAmendForm(sent(request), record=record),
        lambda form: services.amend_assessment(
            assessment=record,
            changes=form.changes(),
            reason=form.cleaned_data["reason"],
            seen_sequence=form.cleaned_data["seen"],
            by=request.membership.recorder,
        ),
        heading=f"Amend: {record}",
        done=lambda _: f"Recorded: {record} is amended; what it said first is kept.",
        done_url=lambda _: reverse("assessments"),
        cancel_url=reverse("assessments"),
        caution="The judgement is the competent person's. Amend a slip of the pen, or let it end; "
        "a new judgement is recorded anew.",
    )
