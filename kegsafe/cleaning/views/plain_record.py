"""Pages of the plain dated records of cleaning."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cleaning import queries, services
from kegsafe.cleaning.forms.plain_record import CleanAmendForm, CleanForm, FindCleanForm
from kegsafe.cleaning.models import CleaningRecord
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page

ROWS_A_PAGE = 50

CAUTION = (
    "Relieve the pressure: a lid that will not drop still holds some. Cover eyes and hands. "
    "Acid and chlorine never meet: together they give off poison gas. Never close a hot keg. "
    "The chemical's label and safety data sheet decide."
)


@page(read=EVERYBODY, post=NOBODY)
def records(request: VenueRequest) -> HttpResponse:
    """List the cleaning records, newest first."""
    kegs = list(queries.kegs_to_clean(request.venue))
    lines = list(queries.lines_to_clean(request.venue))
    find = FindCleanForm(request.GET, kegs=kegs, lines=lines)
    paginator = Paginator(queries.cleaning_log(request.venue, **find.criteria()), ROWS_A_PAGE)
    context = {
        "page": paginator.get_page(request.GET.get("page")),
        "find": find,
        "is_narrowed": bool(request.GET.get("item") or request.GET.get("q")),
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cleaning/records.html", context)


@page(read=RECORDERS, post=RECORDERS)
def record(request: VenueRequest) -> HttpResponse:
    """Record the same clean of one or several kegs and lines."""
    kegs = list(queries.kegs_to_clean(request.venue))
    lines = list(queries.lines_to_clean(request.venue))
    chosen = [f"{kind}-{pk}" for kind in ("keg", "line") for pk in request.GET.getlist(kind)]
    form = CleanForm(request.POST or None, kegs=kegs, lines=lines, initial={"items": chosen})
    if form.is_valid():
        values = {**form.cleaned_data}
        values["cleaned_at"] = values["cleaned_at"] or timezone.now()
        with errors_shown_in(form):
            services.record_cleans(venue=request.venue, by=request.membership.recorder, **values)
    if form.is_bound and form.is_valid():
        names = ", ".join(str(item) for item in form.cleaned_data["items"])
        messages.success(request, f"Recorded: {names} cleaned.")
        return redirect("cleaning-records")
    context = {
        "form": form,
        "caution": CAUTION,
        "full": [item for item in (*kegs, *lines) if item.held_drink],
        "cancel_url": reverse("cleaning-records"),
    }
    return render(request, "cleaning/record.html", context)


@page(read=EVERYBODY, post=NOBODY)
def clean(request: VenueRequest, pk: int) -> HttpResponse:
    """Show one cleaning record with its history."""
    shown = _clean(request, pk)
    context = {
        "clean": shown,
        "events": history(shown),
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "cleaning/clean.html", context)


@page(read=MANAGERS, post=MANAGERS)
def amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend a cleaning record, with the reason."""
    shown = _clean(request, pk)
    form = CleanAmendForm(request.POST or None, record=shown)
    if form.is_valid():
        with errors_shown_in(form):
            services.amend_clean(
                clean=shown,
                changes=form.changes(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
    if form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the record is amended; what it said first is kept.")
        return redirect("clean", pk)
    context = {"form": form, "clean": shown, "cancel_url": reverse("clean", args=[pk])}
    return render(request, "cleaning/amend.html", context)


def _clean(request: VenueRequest, pk: int) -> CleaningRecord:
    records = CleaningRecord.objects.select_related("keg", "line")
    return get_object_or_404(records, pk=pk, venue=request.venue)
