"""What is due: the manager's first page of the room, and the cycles that go on."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from kegsafe.cleaning.forms.due import FindDueForm
from kegsafe.cleaning.models import Cycle
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries import DuePiece, due_of
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page

# What asks for nothing now stands folded, so that the list ends with what is due.
FOLDED = (DueStatus.LATER, DueStatus.WAITS)
HEADINGS = {
    DueStatus.OVERDUE: "Overdue",
    DueStatus.TODAY: "Due today",
    DueStatus.THIS_WEEK: "Due this week",
    DueStatus.LATER: "Later",
    DueStatus.WAITS: "Waits for a use or another drink",
    DueStatus.NOT_KNOWN: "Not known",
}


@dataclass(frozen=True, slots=True)
class DueGroup:
    """The pieces of one status, under their heading."""

    heading: str
    status: DueStatus
    pieces: list[DuePiece]
    is_folded: bool


@page(read=EVERYBODY, post=NOBODY)
def due(request: VenueRequest) -> HttpResponse:
    """List what is due, the most pressing first, each with its reason."""
    pieces = due_of(request.venue, timezone.now())
    find = FindDueForm(request.GET or None, pieces=pieces)
    fitting = [piece for piece in pieces if find.fits(piece)]
    groups = [
        DueGroup(
            heading,
            status,
            [piece for piece in fitting if piece.due.status is status],
            is_folded=status in FOLDED,
        )
        for status, heading in HEADINGS.items()
    ]
    under_way = Cycle.objects.filter(venue=request.venue, ended_at=None).select_related(*SORTS)
    context = {
        "groups": [group for group in groups if group.pieces],
        "pieces": pieces,
        "find": find,
        "is_narrowed": any(request.GET.get(name) for name in ("kind", "place")),
        "under_way": list(under_way.order_by("started_at")),
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "cleaning/due.html", context)
