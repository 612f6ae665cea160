"""Labels as PDF: one keg's, one lot's, or several kegs' on a sheet. Any role may print."""

from collections.abc import Sequence
from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.text import slugify
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from kegsafe.batches.models import Fill
from kegsafe.frame.templatetags.kegsafe import local_time
from kegsafe.pour.queries import KegView, keg_view, open_keg_views
from kegsafe.reports import label_facts
from kegsafe.reports.forms import LabelsForm, remembered_stock, stock_called
from kegsafe.reports.label_stock import LabelStock
from kegsafe.reports.labels import LabelFacts, labels_pdf
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.stock.models import Lot
from kegsafe.venues.access import EVERYBODY, NOBODY, page

# A label is made from the record of the moment: neither browser nor proxy may keep an old one.
_of_this_moment = cache_control(private=True, no_cache=True)


@require_safe
@_of_this_moment
@page(read=EVERYBODY, post=NOBODY)
def labels(request: HttpRequest) -> HttpResponse:
    """List the kegs that hold a drink, and show the labels of those that were ticked."""
    now = timezone.now()
    judged = {
        view.row["fill_id"]: (view, pour_check(view.facts, now))
        for view in open_keg_views(request.venue)
    }
    form = LabelsForm(
        request.GET or None,
        kegs=[(pk, _in_words(view, verdict)) for pk, (view, verdict) in judged.items()],
        remembered=remembered_stock(request.session),
    )
    if form.is_valid():
        chosen = [judged[pk] for pk in form.cleaned_data["fill"]]
        facts = [_keg_facts(request, view, verdict, now) for view, verdict in chosen]
        stock = _remember(request, stock_called(form.cleaned_data["stock"]))
        first = form.cleaned_data["first"] if stock.per_page > 1 else 1
        return _shown(facts, stock, "labels", first=first)
    context = {"form": form, "judged": judged, "batches_url": reverse("batches")}
    return render(request, "reports/labels.html", context)


@require_safe
@_of_this_moment
@page(read=EVERYBODY, post=NOBODY)
def fill_label(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the label of one fill, on the stock asked for or the one last used."""
    fill = get_object_or_404(Fill.objects.select_related("keg"), pk=pk, batch__venue=request.venue)
    view = keg_view(request.venue, fill.keg.label_code)
    if view is None or view.row["fill_id"] != fill.pk:
        messages.error(request, f"{fill.keg} no longer holds this drink: it needs no label.")
        return redirect("labels")
    now = timezone.now()
    facts = _keg_facts(request, view, pour_check(view.facts, now), now)
    return _shown([facts], _asked_for(request), _file_name(facts))


@require_safe
@_of_this_moment
@page(read=EVERYBODY, post=NOBODY)
def lot_label(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the label of the container that holds a lot, while there is something left of it."""
    lot = get_object_or_404(Lot.objects.select_related("ingredient"), pk=pk, venue=request.venue)
    if not lot.bears_label:
        raise Http404("Nothing is left of this lot that a label belongs on.")
    address = request.build_absolute_uri(reverse("lot", args=[lot.pk]))
    facts = label_facts.lot_label(request.venue, lot, address=address, at=timezone.now())
    return _shown([facts], _asked_for(request), _file_name(facts))


def _keg_facts(
    request: HttpRequest, view: KegView, verdict: PourVerdict, now: datetime
) -> LabelFacts:
    path = reverse("pour-check", args=[view.row["label_code"]])
    return label_facts.keg_label(
        request.venue, view, verdict, address=request.build_absolute_uri(path), at=now
    )


def _asked_for(request: HttpRequest) -> LabelStock:
    """Return the stock in the address, else the one last used. An unknown one is not found."""
    if "stock" not in request.GET:
        return remembered_stock(request.session)
    stock = stock_called(request.GET["stock"])
    if stock is None:
        raise Http404("There is no label stock of that name.")
    return _remember(request, stock)


def _remember(request: HttpRequest, stock: LabelStock) -> LabelStock:
    request.session["label_stock"] = stock.key
    return stock


def _shown(
    facts: Sequence[LabelFacts], stock: LabelStock, name: str, *, first: int = 1
) -> HttpResponse:
    response = HttpResponse(labels_pdf(facts, stock, first=first), content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(
        as_attachment=False, filename=f"{name}-{stock.key}.pdf"
    )
    return response


def _file_name(facts: LabelFacts) -> str:
    return f"label-{slugify(facts.container)[:40]}-{slugify(facts.name)[:40]}".rstrip("-")


def _in_words(view: KegView, verdict: PourVerdict) -> str:
    date = f"use by {local_time(verdict.use_by)}" if verdict.use_by else "no date"
    return f"{view.facts.keg.name}: {view.row['drink']}, {date}"
