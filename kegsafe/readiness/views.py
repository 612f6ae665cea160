"""Today, the first page after signing in, and the self-check."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from kegsafe.frame.cautions import DEFERENCE
from kegsafe.readiness import services
from kegsafe.readiness.facts import Records
from kegsafe.readiness.models import ChainWalk
from kegsafe.readiness.queries import gaps
from kegsafe.readiness.today import today as today_of
from kegsafe.readiness.trend import trend
from kegsafe.rules.readiness_clauses import Weight
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page
from kegsafe.venues.models import Role


@require_safe
@page(read=EVERYBODY, post=NOBODY)
def today(request: VenueRequest) -> HttpResponse:
    """Show what asks for something today, by role, and what was last right when."""
    now = timezone.now()
    role = request.membership.role
    context = {
        "today": today_of(Records(request.venue, now), role),
        "now": now,
        "shows_taps": role in {Role.STAFF, Role.INSPECTOR},
        "may_record": role in RECORDERS,
    }
    return render(request, "readiness/today.html", context)


@require_safe
@page(read=EVERYBODY, post=NOBODY)
def readiness(request: VenueRequest) -> HttpResponse:
    """Show what an inspector would find in the records, and how that went over the weeks."""
    now = timezone.now()
    found = gaps(request.venue, now)
    context = {
        "now": now,
        "groups": [
            (weight, [gap for gap in found if gap.weight is weight])
            for weight in Weight
            if any(gap.weight is weight for gap in found)
        ],
        "counts": [(weight, sum(gap.weight is weight for gap in found)) for weight in Weight],
        "trend": trend(request.venue, now),
        "walk": ChainWalk.objects.filter(venue=request.venue).first(),
        "caution": f"{DEFERENCE} {request.venue.code.deference}",
        "code": request.venue.code,
        "may_record": request.membership.role in RECORDERS,
        "may_change": request.membership.role in MANAGERS,
    }
    return render(request, "readiness/readiness.html", context)


@require_POST
@page(read=EVERYBODY, post=MANAGERS)
def self_check(request: VenueRequest) -> HttpResponse:
    """Keep what the self-check finds now: the trend is drawn from what was kept."""
    services.record_self_check(
        venue=request.venue, at=timezone.now(), by=request.membership.recorder
    )
    messages.success(request, "Recorded: what the self-check found today.")
    return redirect("readiness")


@require_POST
@page(read=EVERYBODY, post=MANAGERS)
def chain_walk(request: VenueRequest) -> HttpResponse:
    """Walk the venue's chain of records and keep what was found."""
    walk = services.walk_chain(
        venue=request.venue, at=timezone.now(), by=request.membership.recorder
    )
    if walk.fault:
        messages.error(request, f"Recorded: entry {walk.fault_at} is at fault: {walk.fault}.")
    else:
        messages.success(request, f"Recorded: {walk.entries} entries follow one another.")
    return redirect("readiness")
