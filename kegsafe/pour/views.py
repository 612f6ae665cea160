"""May I pour this? One page per keg, one list of all of them."""

from datetime import datetime, timedelta

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from kegsafe.batches.models import Fill
from kegsafe.equipment.models import Place
from kegsafe.frame.cautions import ALLERGENS, CO2_AND_PRESSURE
from kegsafe.frame.templatetags.kegsafe import local_time, time_left
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.pour import services
from kegsafe.pour.forms import HoldWarmForm
from kegsafe.pour.queries import KegView, keg_view, open_keg_views
from kegsafe.pour.warm_drinks import WarmPlace, warm_place
from kegsafe.quantities import Kind, write
from kegsafe.rules.allergens import Declaration
from kegsafe.rules.degrees import degrees
from kegsafe.rules.findings import Outcome
from kegsafe.rules.moments import at_moment
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page
from kegsafe.venues.models import Venue

_GRAVEST_FIRST = {Outcome.STOP: 0, Outcome.ASK: 1, Outcome.POUR: 2}


@require_safe
@page(read=EVERYBODY, post=NOBODY)
def search(request: HttpRequest) -> HttpResponse:
    """List every keg that holds a drink with its live verdict; find one by keg, drink or tap."""
    wanted = request.GET.get("q", "").strip()[:80]
    now = timezone.now()
    judged = [
        (view, pour_check(view.facts, now))
        for view in open_keg_views(request.venue, now)
        if _matches(view, wanted)
    ]
    judged.sort(key=lambda each: _GRAVEST_FIRST[each[1].outcome])
    context = {"judged": judged, "wanted": wanted, "batch_url": reverse("batch-add")}
    return render(request, "pour/search.html", context)


@require_safe
@page(read=EVERYBODY, post=NOBODY)
def check(request: HttpRequest, label_code: str) -> HttpResponse:
    """Answer for one keg, from everything on record, at this moment."""
    view, verdict, now = _judge(request, label_code)
    context = {
        "view": view,
        "verdict": verdict,
        "now": now,
        "facts": _facts_beside(view, verdict, request.venue),
        "caution": CO2_AND_PRESSURE,
        "allergen_caution": ALLERGENS,
        "deference": request.venue.code.deference,
        "unread": _unread(view, may_decide=request.membership.role in MANAGERS),
        **_acts(view, request.membership.role),
    }
    return render(request, "pour/check.html", context)


@require_POST
@page(read=EVERYBODY, post=RECORDERS)
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


@page(read=EVERYBODY, post=RECORDERS)
def warm_drinks(request: VenueRequest, pk: int, from_s: int) -> HttpResponse:
    """List the drinks that stood in a place above its limit; one press holds them."""
    place = get_object_or_404(Place, pk=pk, venue=request.venue)
    now = timezone.now()
    found = warm_place(place, from_s, now) if from_s < now.timestamp() else None
    if found is None:
        messages.info(request, f"{place} was not above its limit then.")
        return redirect("cold-place", pk)
    form = HoldWarmForm(request.POST or None, drinks=found.to_hold)
    if form.is_valid():
        fills = Fill.objects.filter(pk__in=form.cleaned_data["kegs"]).select_related("keg")
        with errors_shown_in(form):
            services.hold_warm_drinks(
                place=place,
                excursion_from_s=found.excursion.from_s,
                fills=list(fills),
                reason=_why_held(found),
                held_at=now,
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, "Put on hold and recorded. A manager decides what becomes of it.")
        return redirect("warm-drinks", pk, from_s)
    context = {
        "found": found,
        "form": form,
        "from_at": _moment(found.excursion.from_s),
        "until_at": _moment(found.excursion.until_s),
        "above": timedelta(seconds=found.excursion.above_s),
        "may_record": request.membership.role in RECORDERS,
        "deference": request.venue.code.deference,
    }
    return render(request, "pour/warm_drinks.html", context)


def _why_held(found: WarmPlace) -> str:
    begun = at_moment(_moment(found.excursion.from_s))
    warmest = degrees(found.excursion.warmest_degc)
    return f"{found.place} above its limit from {begun}, warmest {warmest}"[:200]


def _moment(at_s: int) -> datetime:
    return datetime.fromtimestamp(at_s, timezone.get_current_timezone())


def _judge(request: HttpRequest, label_code: str) -> tuple[KegView, PourVerdict, datetime]:
    now = timezone.now()
    view = keg_view(request.venue, label_code.lower(), now)
    if view is None:
        raise Http404("No keg of this venue carries that label.")
    return view, pour_check(view.facts, now), now


def _facts_beside(view: KegView, verdict: PourVerdict, venue: Venue) -> list[tuple[str, object]]:
    """Return what is read beside the answer, at arm's length."""
    if view.row["fill_id"] is None:
        return []
    abv, hold = view.row["abv_percent"], verdict.hold_at_or_below_degc
    return [
        ("Use by", local_time(verdict.use_by) if verdict.use_by else "no date can be given"),
        ("Allergens", _allergens_in_short(verdict.declaration, view)),
        ("Time left", time_left(verdict.use_by) if verdict.use_by else None),
        ("Alcohol", f"{abv.normalize():f} % vol" if abv is not None else None),
        ("Tap", view.row["tap_name"] or "not on a tap"),
        ("Stands in", view.row["place_name"]),
        ("Hold at or below", write(hold, Kind.TEMPERATURE, venue.units) if hold else None),
        ("Batch", view.row["batch_code"]),
    ]


def _allergens_in_short(declaration: Declaration | None, view: KegView) -> str | None:
    """Return who must not drink it, in one line; the declaration itself stands in full below."""
    fill = view.facts.fill
    if declaration is None or fill is None:
        return None
    lists = (
        ("", declaration.contains),
        ("may contain ", declaration.may_contain),
        ("not known: ", declaration.not_known),
        ("also in it: ", declaration.also_contains),
    )
    said = [
        words + ", ".join(each.display_name for each in named) for words, named in lists if named
    ]
    if unknown := fill.ingredients_with_unknown_allergens:
        said.append(f"not known of {', '.join(unknown)}: ask")
    return "; ".join(said) or "none declared"


def _acts(view: KegView, role: str) -> dict[str, object]:
    """Return where the buttons lead, for those whose role has them."""
    fill = view.row["fill_id"]
    if fill is None:
        return {}
    return {
        "may_record": role in RECORDERS,
        "may_release": role in MANAGERS,
        "hold_url": reverse("fill-hold", args=[fill]),
        "release_url": reverse("fill-release", args=[fill]),
        "discard_url": reverse("fill-discard", args=[fill]),
    }


def _unread(view: KegView, *, may_decide: bool) -> list[tuple[str, datetime, datetime, str]]:
    """Return the time nobody read and nobody decided about, and where a manager decides."""
    history = view.facts.fill.cold.history if view.facts.fill else None
    if history is None:
        return []
    return [
        (
            stay.place,
            _moment(part.from_s),
            _moment(part.until_s),
            reverse("cold-gap", args=[stay.key, part.from_s, part.until_s]) if may_decide else "",
        )
        for stay in history.stays
        for part in stay.undecided
        if not history.is_open(part)
    ]


def _matches(view: KegView, wanted: str) -> bool:
    row = view.row
    texts = (row["name"], row["drink"], row["tap_name"], row["label_code"], row["batch_code"])
    return wanted.casefold() in " ".join(text or "" for text in texts).casefold()
