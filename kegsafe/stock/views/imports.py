"""Pages for deliveries from a file: send it, look at every row, then import."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from kegsafe.stock import services
from kegsafe.stock.forms.deliveries import DeliveryFileForm
from kegsafe.stock.importing.delivery_file import (
    COLUMNS,
    UnreadableFile,
    refuse_a_large_file,
    sample,
)
from kegsafe.stock.importing.plan import Plan, plan_import
from kegsafe.stock.models import DeliveryFile
from kegsafe.stock.views.pages import sent
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page


@page(read=MANAGERS, post=MANAGERS)
def delivery_import(request: VenueRequest) -> HttpResponse:
    """Take a file of deliveries to look at; nothing is recorded yet."""
    form = DeliveryFileForm(sent(request), request.FILES if request.method == "POST" else None)
    if form.is_valid():
        upload = form.cleaned_data["file"]
        try:
            refuse_a_large_file(upload.size)
            kept = services.keep_file(
                venue=request.venue,
                name=upload.name,
                content=upload.read(),
                by=request.membership.recorder,
            )
        except UnreadableFile as trouble:
            form.add_error("file", str(trouble))
        else:
            return redirect(kept)
    context = {"form": form, "columns": COLUMNS.items()}
    return render(request, "stock/delivery_import.html", context)


@page(read=MANAGERS, post=MANAGERS)
def delivery_file(request: VenueRequest, pk: int) -> HttpResponse:
    """Show what an import of the file would do, and do exactly that when it is confirmed."""
    kept = get_object_or_404(DeliveryFile, pk=pk, venue=request.venue)
    if request.method == "POST":
        try:
            done = services.import_deliveries(
                venue=request.venue,
                text=kept.text,
                file_name=kept.name,
                expected=request.POST.get("looked_at", ""),
                by=request.membership.recorder,
            )
        except services.StalePlan as stale:
            messages.warning(request, str(stale))
            return redirect(kept)
        messages.success(request, _imported(done))
        return redirect("deliveries")
    plan = plan_import(request.venue, kept.text)
    lots = "1 lot" if len(plan.new) == 1 else f"{len(plan.new)} lots"
    context = {"file": kept, "plan": plan, "act": f"Import {lots}"}
    return render(request, "stock/delivery_file.html", context)


@page(read=EVERYBODY, post=NOBODY)
def delivery_sample(request: VenueRequest) -> HttpResponse:
    """Give the layout as a file: header and one example row."""
    # The mark in front makes spreadsheets read UTF-8; our own reading takes it or leaves it.
    answer = HttpResponse("\ufeff" + sample(), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="deliveries-sample.csv"'
    return answer


def _imported(plan: Plan) -> str:
    lots = "1 lot was" if len(plan.new) == 1 else f"{len(plan.new)} lots were"
    left_out = f" {len(plan.bad)} bad rows were left out." if plan.bad else ""
    return f"Recorded: {lots} imported.{left_out}"
