"""The cleaning log, and a year of one line at a glance."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from kegsafe.cleaning.forms.log import find_cycle_form
from kegsafe.cleaning.log_words import entry_row
from kegsafe.cleaning.queries.log import Position, log_page
from kegsafe.cleaning.queries.year import year_of
from kegsafe.equipment.models import Line
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page

ROWS_A_PAGE = 50


@page(read=EVERYBODY, post=NOBODY)
def cycles(request: VenueRequest) -> HttpResponse:
    """List the cycles and the cleans that were only noted, newest first, fifty at a time."""
    find = find_cycle_form(request.GET, request.venue)
    after = Position.read(request.GET.get("after", ""))
    wanted = find.criteria(request.venue)
    found = log_page(request.venue, ROWS_A_PAGE + 1, after=after, **wanted)
    shown = found[:ROWS_A_PAGE]
    context = {
        "rows": [entry_row(entry) for entry in shown],
        "find": find,
        "is_narrowed": any(request.GET.get(name) for name in find.fields),
        "is_first": after is None,
        "older": str(Position.of(shown[-1])) if len(found) > ROWS_A_PAGE else "",
        "may_record": request.membership.role in RECORDERS,
        "query": _without_position(request),
    }
    return render(request, "cleaning/cycles.html", context)


@page(read=EVERYBODY, post=NOBODY)
def line_year(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a year of cycles of one line, day by day, and the same in words."""
    line = get_object_or_404(Line, pk=pk, venue=request.venue)
    year = year_of(line, timezone.localdate())
    return render(request, "cleaning/line_year.html", {"line": line, "year": year})


def _without_position(request: VenueRequest) -> str:
    words = request.GET.copy()
    words.pop("after", None)
    return words.urlencode()
