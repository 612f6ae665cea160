"""What is made of the record of pressure equipment: audit, labels, calendar, gas balance."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.text import slugify
from django.views.decorators.cache import cache_control

from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.pressure.audit import audit_of
from kegsafe.pressure.deciders import DECIDERS
from kegsafe.pressure.models import Item
from kegsafe.pressure.queries import register
from kegsafe.quantities import Kind, write
from kegsafe.reports.due_calendar import due_calendar
from kegsafe.reports.equipment_label import EquipmentLabel, equipment_labels_pdf
from kegsafe.reports.forms import remembered_stock
from kegsafe.reports.gas_balance import balance_of
from kegsafe.reports.owner_audit import owner_audit_pdf
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page

_NO_RATING = "not recorded: not allowed under pressure"


# An audit is made from the record of the moment: nobody may keep an old one.
@cache_control(private=True, no_cache=True)
@page(read=MANAGERS, post=NOBODY)
def owner_audit(request: VenueRequest) -> HttpResponse:
    """Show the owner's audit, to be printed."""
    audit = audit_of(request.venue, timezone.localdate())
    content = owner_audit_pdf(audit, request.venue.chain, DECIDERS)
    return _shown(content, f"owner-audit-{audit.today:%Y-%m-%d}.pdf")


@page(read=EVERYBODY, post=NOBODY)
def cylinder_balance(request: VenueRequest, pk: int) -> HttpResponse:
    """Show what a cylinder lost between its last two weighings, against what explains it."""
    cylinders = Item.objects.filter(venue=request.venue, kind=Item.Kind.CYLINDER)
    cylinder = get_object_or_404(cylinders, pk=pk)
    context = {
        "item": cylinder,
        "balance": balance_of(cylinder),
        "caution": CO2_AND_PRESSURE,
    }
    return render(request, "pressure/balance.html", context)


@page(read=EVERYBODY, post=NOBODY)
def calendar(request: VenueRequest) -> HttpResponse:
    """Hand out the due dates as a calendar file."""
    today = timezone.localdate()
    rows = register(request.venue, today)
    content = due_calendar(request.venue, rows, today, timezone.now())
    response = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = content_disposition_header(
        as_attachment=True, filename="pressure-equipment.ics"
    )
    return response


@page(read=EVERYBODY, post=NOBODY)
def item_label(request: VenueRequest, pk: int) -> HttpResponse:
    """Show the label of an item, on the stock last printed on."""
    item = get_object_or_404(Item.objects.select_related("room"), pk=pk, venue=request.venue)
    rated = item.rated_gauge_pa
    units = request.venue.units
    label = EquipmentLabel(
        venue=request.venue.name,
        name=str(item),
        particulars=(
            ("Serial number", item.serial or "not recorded"),
            ("Rated", write(rated, Kind.GAUGE_PRESSURE, units, both=True) if rated else _NO_RATING),
            ("Room", item.room.name if item.room else "not recorded"),
            ("Label code", item.label_code),
        ),
        address=request.build_absolute_uri(item.get_absolute_url()),
    )
    content = equipment_labels_pdf([label], remembered_stock(request.session))
    return _shown(content, f"label-{slugify(label.name)}.pdf")


def _shown(content: bytes, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(as_attachment=False, filename=name)
    return response
