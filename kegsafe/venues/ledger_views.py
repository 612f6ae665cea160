"""The ledger page: it stands here because the ledger, further down, knows no venues or roles."""

from django.http import HttpResponse, QueryDict
from django.shortcuts import render

from kegsafe.ledger.forms import FindEntryForm
from kegsafe.ledger.models import Chain
from kegsafe.ledger.queries import newest_lines
from kegsafe.venues.access import EVERYBODY, NOBODY, VenueRequest, page

LINES_A_PAGE = 50


@page(read=EVERYBODY, post=NOBODY)
def ledger(request: VenueRequest) -> HttpResponse:
    """Show what happened at the venue, newest first, and the head of its chain.

    Pages are cut by sequence, not counted off: the last page of a hundred
    thousand entries costs what the first does.
    """
    find = FindEntryForm(request.GET)
    criteria = find.criteria()
    lines = newest_lines(
        request.venue.chain_id,
        before=_sequence(request.GET),
        limit=LINES_A_PAGE + 1,
        **criteria,
    )
    shown = lines[:LINES_A_PAGE]
    context = {
        "chain": Chain.objects.get(pk=request.venue.chain_id),
        "lines": shown,
        "find": find,
        "subject": criteria.get("subject", ""),
        "is_narrowed": any(criteria.values()),
        "is_first": "before" not in request.GET,
        "older_before": shown[-1].event.sequence if len(lines) > LINES_A_PAGE else None,
    }
    return render(request, "ledger/ledger.html", context)


def _sequence(query: QueryDict) -> int | None:
    """Return where the page before ended, None for the first page and for what is no number."""
    typed = query.get("before", "")
    return int(typed) if typed.isdecimal() and len(typed) < 19 else None
