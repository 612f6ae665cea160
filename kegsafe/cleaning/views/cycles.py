"""One cycle as it stands on record, and what was done about it where it did not count."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from kegsafe.cleaning import services
from kegsafe.cleaning.forms.corrective import CorrectiveActionForm
from kegsafe.cleaning.models import CorrectiveAction, Cycle
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries.affected import drinks_affected
from kegsafe.cleaning.queries.circuits import with_steps
from kegsafe.cleaning.step_words import step_rows
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def cycle(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a cycle: its verdict, its steps as recorded, its corrective actions."""
    shown = _cycle(request, pk)
    may_act = request.membership.role in RECORDERS
    context = {
        "cycle": shown,
        "findings": shown.verdict.get("findings", []),
        "rows": step_rows(shown),
        "actions": shown.corrective_actions.all(),
        "events": history(shown),
        "needs_action": not shown.is_open and shown.result != Cycle.Result.COMPLETE,
        "may_act": may_act,
        "person": request.membership.recorder.person,
    }
    return render(request, "cleaning/cycle.html", context)


@page(read=RECORDERS, post=RECORDERS)
def corrective_action(request: VenueRequest, pk: int) -> HttpResponse:
    """Record what was done about a cycle that did not count."""
    shown = _cycle(request, pk)
    found = "; ".join(
        each["statement"] for each in shown.verdict.get("findings", []) if _is_grave(each)
    )
    form = CorrectiveActionForm(request.POST or None, initial={"found": found[:400]})
    if form.is_valid():
        with errors_shown_in(form):
            services.record_corrective_action(
                cycle=shown, by=request.membership.recorder, **form.cleaned_data
            )
            messages.success(request, "Recorded: the corrective action.")
            return redirect("cycle", pk)
    context = {
        "cycle": shown,
        "form": form,
        "affected": list(drinks_affected(shown)),
        "cancel_url": reverse("cycle", args=[pk]),
    }
    return render(request, "cleaning/corrective.html", context)


@page(read=NOBODY, post=RECORDERS)
def corrective_check(request: VenueRequest, pk: int) -> HttpResponse:
    """Sign as a second person that a corrective action was done."""
    action = get_object_or_404(CorrectiveAction, pk=pk, cycle__venue=request.venue)
    try:
        services.verify_corrective_action(action=action, by=request.membership.recorder)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    return redirect("cycle", action.cycle_id)


def _cycle(request: VenueRequest, pk: int) -> Cycle:
    cycles = with_steps(Cycle.objects.select_related("plan", "record", *SORTS))
    return get_object_or_404(cycles, pk=pk, venue=request.venue)


def _is_grave(finding: dict[str, str]) -> bool:
    return finding["severity"] in ("stop", "ask")
