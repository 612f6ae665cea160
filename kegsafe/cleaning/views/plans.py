"""The venue's plans: taking one up, reading it with its sources, changing it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from kegsafe.cleaning import services
from kegsafe.cleaning.forms.plans import ChangePlanForm, RetirePlanForm
from kegsafe.cleaning.models import CleaningPlan
from kegsafe.cleaning.services.plans import changes_compared
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.rules.cleaning.plans import plans as starters
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page


@page(read=EVERYBODY, post=MANAGERS)
def plans(request: VenueRequest) -> HttpResponse:
    """List the plans in force and the starters that can be taken up; take one up."""
    if request.method == "POST":
        try:
            plan = services.copy_plan(
                venue=request.venue,
                starter_key=request.POST.get("starter", ""),
                by=request.membership.recorder,
            )
        except ValidationError as refused:
            messages.error(request, " ".join(refused.messages))
            return redirect("cleaning-plans")
        messages.success(request, f"Recorded: {plan.name} is one of the venue's plans.")
        return redirect("cleaning-plans")
    own = list(CleaningPlan.objects.filter(venue=request.venue, replaced_on=None))
    taken = {plan.starter_key for plan in own}
    context = {
        "own": own,
        "starters": [plan for key, plan in starters().items() if key not in taken],
        "may_manage": request.membership.role in MANAGERS,
    }
    return render(request, "cleaning/plans.html", context)


@page(read=EVERYBODY, post=NOBODY)
def plan(request: VenueRequest, pk: int) -> HttpResponse:
    """Show one version of a plan with the source of every limit."""
    shown = get_object_or_404(CleaningPlan, pk=pk, venue=request.venue)
    rules = shown.as_rules()
    context = {
        "plan": shown,
        "rules": rules,
        "compared": changes_compared(shown, rules),
        "versions": CleaningPlan.objects.filter(family=shown.family).order_by("-version"),
        "events": history(shown),
        "may_manage": request.membership.role in MANAGERS and shown.replaced_on is None,
    }
    return render(request, "cleaning/plan.html", context)


@page(read=MANAGERS, post=MANAGERS)
def change(request: VenueRequest, pk: int) -> HttpResponse:
    """Put a new version of a plan in force."""
    shown = get_object_or_404(CleaningPlan, pk=pk, venue=request.venue, replaced_on=None)
    form = ChangePlanForm(request.POST or None, plan=shown)
    if form.is_valid():
        with errors_shown_in(form):
            new = services.change_plan(
                plan=shown,
                changed=form.changed_plan(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
            )
            messages.success(request, f"Recorded: {new} is in force. Old cycles keep theirs.")
            return redirect("cleaning-plan", new.pk)
    context = {"form": form, "plan": shown, "cancel_url": reverse("cleaning-plan", args=[pk])}
    return render(request, "cleaning/plan_change.html", context)


@page(read=MANAGERS, post=MANAGERS)
def retire(request: VenueRequest, pk: int) -> HttpResponse:
    """Use a plan no longer."""
    shown = get_object_or_404(CleaningPlan, pk=pk, venue=request.venue, replaced_on=None)
    form = RetirePlanForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            services.retire_plan(
                plan=shown,
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
            )
            messages.success(request, f"Recorded: {shown.name} is used no longer.")
            return redirect("cleaning-plan", pk)
    context = {"form": form, "plan": shown, "cancel_url": reverse("cleaning-plan", args=[pk])}
    return render(request, "cleaning/plan_retire.html", context)
