"""The register of pressure equipment, and the owner's audit of it."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.pressure.audit import audit_of
from kegsafe.pressure.deciders import DECIDERS
from kegsafe.pressure.forms.gas import FindForm
from kegsafe.pressure.queries import narrowed, register, sorted_by
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page

ROWS_A_PAGE = 50


@page(read=EVERYBODY, post=NOBODY)
def register_list(request: VenueRequest) -> HttpResponse:
    """List everything under pressure with what is due on it, the most urgent first."""
    find = FindForm(request.GET)
    everything = register(request.venue, timezone.localdate())
    found = sorted_by(narrowed(everything, **find.criteria()), find.order)
    is_narrowed = any(find.criteria().values())
    context = {
        "page": Paginator(found, ROWS_A_PAGE).get_page(request.GET.get("page")),
        "find": find,
        "is_narrowed": is_narrowed,
        "found": f"{len(found)} found" if is_narrowed else "",
        "asking": sum(1 for row in everything if row.asking),
        "count": len(everything),
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "pressure/register.html", context)


@page(read=MANAGERS, post=NOBODY)
def audit(request: VenueRequest) -> HttpResponse:
    """Show the owner's audit: what an inspector would ask for, on one page."""
    context = {
        "audit": audit_of(request.venue, timezone.localdate()),
        "caution": CO2_AND_PRESSURE,
        "deciders": DECIDERS,
    }
    return render(request, "pressure/audit.html", context)
