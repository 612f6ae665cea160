"""What an earlier drink may have left in a line or a keg: beside 'may contain', never instead."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from kegsafe.cleaning.forms.left_behind import KegLeftForm, LineLeftForm
from kegsafe.cleaning.queries import history_of
from kegsafe.equipment.models import Keg, Line
from kegsafe.rules.cleaning.guidance import guidance
from kegsafe.rules.facts import EquipmentHistory
from kegsafe.venues.access import EVERYBODY, NOBODY, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def line(request: VenueRequest, pk: int) -> HttpResponse:
    """Show the bound for each source that earlier drinks left in a line."""
    shown = get_object_or_404(Line.objects.select_related("venue"), pk=pk, venue=request.venue)
    form = LineLeftForm(request.GET, line=shown)
    return _show(request, shown, form, history_of(line=shown))


@page(read=EVERYBODY, post=NOBODY)
def keg(request: VenueRequest, pk: int) -> HttpResponse:
    """Show the bound for each source that earlier drinks left in a keg."""
    shown = get_object_or_404(Keg.objects.select_related("venue"), pk=pk, venue=request.venue)
    form = KegLeftForm(request.GET, keg=shown)
    return _show(request, shown, form, history_of(keg=shown))


def _show(
    request: VenueRequest,
    piece: Line | Keg,
    form: LineLeftForm | KegLeftForm,
    history: EquipmentHistory,
) -> HttpResponse:
    sources = sorted(history.residue)
    context = {
        "piece": piece,
        "form": form,
        "sources": sources,
        "findings": [bound.finding for bound in form.bounds(sources)],
        "protein": guidance("carry_over.protein"),
    }
    return render(request, "cleaning/left_behind.html", context)
