"""May I pour this? One page per keg, one list of all of them."""

from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.pour import services
from kegsafe.pour.queries import KegView, keg_view, open_keg_views
from kegsafe.rules.findings import Outcome
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.venues.access import page

_GRAVEST_FIRST = {Outcome.STOP: 0, Outcome.ASK: 1, Outcome.POUR: 2}


@require_safe
@page()
def search(request: HttpRequest) -> HttpResponse:
    """List every keg that holds a drink with its live verdict; find one by keg, drink or tap."""
    wanted = request.GET.get("q", "").strip()[:80]
    now = timezone.now()
    judged = [
        (view, pour_check(view.facts, now))
        for view in open_keg_views(request.venue)
        if _matches(view, wanted)
    ]
    judged.sort(key=lambda each: (_GRAVEST_FIRST[each[1].outcome], each[0].row["name"]))
    return render(request, "pour/search.html", {"judged": judged, "wanted": wanted})


@require_safe
@page()
def check(request: HttpRequest, label_code: str) -> HttpResponse:
    """Answer for one keg, from everything on record, at this moment."""
    view, verdict, now = _judge(request, label_code)
    context = {
        "view": view,
        "verdict": verdict,
        "now": now,
        "facts": _facts_beside(view, verdict),
        "caution": CO2_AND_PRESSURE,
    }
    return render(request, "pour/check.html", context)


@require_POST
@page()
def checked(request: HttpRequest, label_code: str) -> HttpResponse:
    """Record that the keg was checked, with the verdict of this moment."""
    view, verdict, now = _judge(request, label_code)
    if view.row["fill_id"] is None:
        messages.error(request, "This keg holds no drink: there is nothing to check.")
        return redirect("pour-check", label_code)
    services.record_check(
        fill_id=view.row["fill_id"],
        verdict=verdict,
        checked_at=now,
        by=request.membership.recorder,
    )
    messages.success(request, f"Checked and recorded: {view.facts.keg.name}.")
    return redirect("pour-check", label_code)


def _judge(request: HttpRequest, label_code: str) -> tuple[KegView, PourVerdict, datetime]:
    view = keg_view(request.venue, label_code.lower())
    if view is None:
        raise Http404("No keg of this venue carries that label.")
    now = timezone.now()
    return view, pour_check(view.facts, now), now


def _facts_beside(view: KegView, verdict: PourVerdict) -> list[tuple[str, object]]:
    """Return what is read beside the answer, at arm's length."""
    abv = view.row["abv_percent"]
    return [("Alcohol", f"{abv.normalize():f} % vol" if abv is not None else None)]


def _matches(view: KegView, wanted: str) -> bool:
    row = view.row
    texts = (row["name"], row["drink"], row["tap_name"], row["label_code"], row["batch_code"])
    return wanted.casefold() in " ".join(text or "" for text in texts).casefold()
