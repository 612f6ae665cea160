"""Labels for what is cleaned: scan one with a wet hand, and its cycle begins."""

from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Model
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.utils.text import slugify

from kegsafe.cleaning.models import CleanItem
from kegsafe.cleaning.queries import piece_key, pieces_of
from kegsafe.equipment.models import Line, Tap
from kegsafe.reports.equipment_label import EquipmentLabel, equipment_labels_pdf
from kegsafe.reports.forms import remembered_stock
from kegsafe.venues.access import EVERYBODY, NOBODY, VenueRequest, page

_CAUTION = (
    "Under cleaning: do not pour, do not taste. Eyes and hands covered; acid and chlorine never "
    "together; pressure off before anything is opened."
)

_NO_SIZE = "not recorded: measure what it holds with a jug"


@page(read=EVERYBODY, post=NOBODY)
def labels(request: VenueRequest) -> HttpResponse:
    """Show the labels of the pieces asked for; of all lines and taps where none is named."""
    asked = request.GET.getlist("piece")
    pieces = {piece_key(piece): piece for piece in pieces_of(request.venue)}
    if not set(asked) <= set(pieces):
        raise Http404("There is no such piece to be cleaned.")
    chosen = [pieces[key] for key in asked] or [
        piece for piece in pieces.values() if isinstance(piece, Line | Tap)
    ]
    if not chosen:
        messages.error(request, "There is no line and no tap yet that a label belongs on.")
        return redirect("clean-items")
    content = equipment_labels_pdf(
        [_label(request, piece) for piece in chosen], remembered_stock(request.session)
    )
    name = str(chosen[0]) if len(chosen) == 1 else "lines and taps"
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(
        as_attachment=False, filename=f"label-{slugify(name)}.pdf"
    )
    return response


def _label(request: VenueRequest, piece: Model) -> EquipmentLabel:
    query = urlencode({"piece": piece_key(piece)})
    return EquipmentLabel(
        venue=request.venue.name,
        name=str(piece),
        particulars=_particulars(piece),
        address=request.build_absolute_uri(f"{reverse('cycle-start')}?{query}"),
        invitation="Scan to clean it: the steps, the strength, the timer.",
        caution=_CAUTION,
    )


def _particulars(piece: Model) -> tuple[tuple[str, str], ...]:
    if isinstance(piece, Line):
        bore, length = piece.inner_diameter_mm, piece.length_m
        known = bore is not None and length is not None
        size = f"{bore.normalize():f} mm, {length.normalize():f} m" if known else _NO_SIZE
        return (("Inner diameter, length", size),)
    if isinstance(piece, CleanItem):
        return (("Kind", piece.get_kind_display()),)
    return ()
