"""What is due: the manager's first page of the room, and the cycles that go on."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from kegsafe.cleaning.forms.due import FindDueForm
from kegsafe.cleaning.models import Cycle
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries import due_of
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page

HEADINGS = {
    DueStatus.OVERDUE: "Overdue",
    DueStatus.TODAY: "Due today",
    DueStatus.THIS_WEEK: "Due this week",
    DueStatus.LATER: "Later",
    DueStatus.NOT_KNOWN: "Not known",
}


@page(read=EVERYBODY, post=NOBODY)
def due(request: VenueRequest) -> HttpResponse:
    """List what is due, the most pressing first, each with its reason."""
    pieces = due_of(request.venue, timezone.now())
    find = FindDueForm(request.GET or None, pieces=pieces)
    fitting = [piece for piece in pieces if find.fits(piece)]
    groups = [
        (heading, status, [piece for piece in fitting if piece.due.status is status])
        for status, heading in HEADINGS.items()
    ]
    under_way = Cycle.objects.filter(venue=request.venue, ended_at=None).select_related(*SORTS)
    context = {
        "groups": [group for group in groups if group[2]],
        "pieces": pieces,
        "find": find,
        "is_narrowed": any(request.GET.get(name) for name in ("kind", "place")),
        "under_way": list(under_way.order_by("started_at")),
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cleaning/due.html", context)
