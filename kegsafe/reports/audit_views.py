"""The owner's audit of pressure equipment as a PDF."""

from django.http import HttpResponse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.cache import cache_control

from kegsafe.pressure.audit import audit_of
from kegsafe.pressure.deciders import DECIDERS
from kegsafe.reports.owner_audit import owner_audit_pdf
from kegsafe.venues.access import MANAGERS, NOBODY, VenueRequest, page


# An audit is made from the record of the moment: nobody may keep an old one.
@cache_control(private=True, no_cache=True)
@page(read=MANAGERS, post=NOBODY)
def owner_audit(request: VenueRequest) -> HttpResponse:
    """Show the owner's audit, to be printed."""
    audit = audit_of(request.venue, timezone.localdate())
    content = owner_audit_pdf(audit, request.venue.chain, DECIDERS)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(
        as_attachment=False, filename=f"owner-audit-{audit.today:%Y-%m-%d}.pdf"
    )
    return response
