"""Pages of checks, intervals, leak tests and files."""

from django.http import FileResponse, Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.utils.datastructures import MultiValueDict

from kegsafe.equipment.models import Keg
from kegsafe.frame.documents import hand_out
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.pressure import services
from kegsafe.pressure.forms.checking import (
    CheckForm,
    DocumentForm,
    IntervalForm,
    LeakForm,
    PhotographForm,
)
from kegsafe.pressure.models import Check, CheckPhotograph, Document, GasRoom, Item
from kegsafe.pressure.queries import regime_key
from kegsafe.pressure.views.pages import (
    done,
    form_page,
    is_done,
    item_of,
    keg_of,
    owner_of,
    room_of,
    url_of,
)
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pressure.checks import CheckRule, Result, checks_of, points_of
from kegsafe.rules.pressure.leak import judge_leak_test
from kegsafe.science.atmosphere import ATMOSPHERE_BAR
from kegsafe.science.pressure_decay import leak_test
from kegsafe.science.ranges import OutsideRange
from kegsafe.venues.access import EVERYBODY, NOBODY, OWNERS, RECORDERS, VenueRequest, page

_LEAK = "leak"
_LEAK_CAUTION = (
    "Only with gas alone inside, shut off from the cylinder: drink takes gas up and gives it off, "
    "and hides a leak or feigns one. Never above the lowest rating. Soap solution finds the place."
)


@page(read=RECORDERS, post=RECORDERS)
def item_check(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a check of an item."""
    return _check(request, item_of(request, pk))


@page(read=RECORDERS, post=RECORDERS)
def keg_check(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a check of a keg."""
    return _check(request, keg_of(request, pk))


@page(read=EVERYBODY, post=NOBODY)
def check(request: VenueRequest, pk: int) -> HttpResponse:
    """Show one check, point by point."""
    checks = Check.objects.select_related("item", "keg")
    shown = get_object_or_404(checks, pk=pk, venue=request.venue)
    words = {
        Result.PASS: "Passed",
        Result.FAIL: "Failed",
        Result.NOT_APPLICABLE: "Not applicable",
    }
    points = [(point["text"], words[Result(point["result"])]) for point in shown.points]
    thing = shown.item or shown.keg
    context = {
        "check": shown,
        "points": points,
        "photographs": shown.photographs.all(),
        "may_record": request.membership.role in RECORDERS,
        "thing": thing,
        "thing_url": url_of(thing),
        "events": history(shown),
    }
    return render(request, "pressure/check.html", context)


@page(read=OWNERS, post=OWNERS)
def item_interval(request: VenueRequest, pk: int) -> HttpResponse:
    """Set how often a check of an item comes round."""
    return _interval(request, item_of(request, pk))


@page(read=OWNERS, post=OWNERS)
def keg_interval(request: VenueRequest, pk: int) -> HttpResponse:
    """Set how often a check of a keg comes round."""
    return _interval(request, keg_of(request, pk))


@page(read=RECORDERS, post=RECORDERS)
def item_leak(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a pressure-decay test of a manifold and what hangs on it."""
    return _leak(request, item_of(request, pk, kind=Item.Kind.MANIFOLD))


@page(read=RECORDERS, post=RECORDERS)
def keg_leak(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a pressure-decay test of an empty keg."""
    return _leak(request, keg_of(request, pk))


@page(read=RECORDERS, post=RECORDERS)
def item_document(request: VenueRequest, pk: int) -> HttpResponse:
    """Keep a file about an item."""
    return _document(request, item_of(request, pk))


@page(read=RECORDERS, post=RECORDERS)
def keg_document(request: VenueRequest, pk: int) -> HttpResponse:
    """Keep a file about a keg."""
    return _document(request, keg_of(request, pk))


@page(read=RECORDERS, post=RECORDERS)
def room_document(request: VenueRequest, pk: int) -> HttpResponse:
    """Keep a file about a room: the report on its ventilation, for example."""
    return _document(request, room_of(request, pk))


@page(read=RECORDERS, post=RECORDERS)
def check_photograph(request: VenueRequest, pk: int) -> HttpResponse:
    """Keep one more photograph of what a check found."""
    of = get_object_or_404(Check.objects.select_related("item", "keg"), pk=pk, venue=request.venue)
    form = PhotographForm(*_sent(request))
    if form.is_valid():
        with errors_shown_in(form):
            services.keep_check_photograph(
                check=of, sent=form.cleaned_data["file"], by=request.membership.recorder
            )
    if is_done(form):
        return done(request, f"the photograph is kept with {of}.", of)
    return form_page(request, form, f"A photograph of {of}", of.get_absolute_url(), caution="")


@page(read=EVERYBODY, post=NOBODY)
def photograph(request: VenueRequest, pk: int) -> FileResponse:
    """Hand out a photograph of a check, to be saved."""
    kept = get_object_or_404(CheckPhotograph, pk=pk, of_check__venue=request.venue)
    return hand_out(kept)


@page(read=EVERYBODY, post=NOBODY)
def document(request: VenueRequest, pk: int) -> FileResponse:
    """Hand out a kept file, to be saved and never to be shown as a page of ours."""
    kept = get_object_or_404(Document, pk=pk, venue=request.venue)
    return hand_out(kept)


def _check(request: VenueRequest, thing: Item | Keg) -> HttpResponse:
    rule = _rule(request, thing)
    form = CheckForm(*_sent(request), rule=rule)
    if form.is_valid():
        with errors_shown_in(form):
            made = services.record_check(
                check=rule.check,
                by=request.membership.recorder,
                **owner_of(thing),
                **form.record_values(),
            )
    if is_done(form):
        passed = made.outcome == Check.Outcome.PASS
        follows = "passed" if passed else "failed: it is out of service until a check passes"
        return done(request, f"{rule.label} of {thing}, {follows}.", url_of(thing))
    return form_page(
        request,
        form,
        f"{rule.label}: {thing}",
        url_of(thing),
        sentence=f"Who decides: {rule.decided_by}. {rule.note}",
        source=f"{rule.citation} ({rule.verified})",
    )


def _interval(request: VenueRequest, thing: Item | Keg) -> HttpResponse:
    rule = _rule(request, thing)
    form = IntervalForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            services.set_interval(
                check=rule.check,
                by=request.membership.recorder,
                **owner_of(thing),
                **form.cleaned_data,
            )
    if is_done(form):
        return done(request, f"the interval of {rule.label.lower()}.", url_of(thing))
    return form_page(
        request,
        form,
        f"{rule.label}: how often for {thing}?",
        url_of(thing),
        sentence="The owner's own figure may shorten what the rule says. Only the maker's "
        "instructions or the written scheme lengthen it.",
    )


def _leak(request: VenueRequest, thing: Item | Keg) -> HttpResponse:
    form = LeakForm(request.POST or None)
    if form.is_valid():
        finding = _judged(form)
        if finding is not None:
            with errors_shown_in(form):
                _record_leak(request, thing, finding)
    if is_done(form):
        return done(request, f"{finding.statement}", url_of(thing))
    return form_page(request, form, f"Leak test: {thing}", url_of(thing), caution=_LEAK_CAUTION)


def _judged(form: LeakForm) -> Finding | None:
    typed = form.cleaned_data
    limit = typed["limit"]
    try:
        test = leak_test(**form.readings(ATMOSPHERE_BAR))
    except OutsideRange as trouble:
        form.add_error(None, str(trouble))
        return None
    return judge_leak_test(
        test,
        gauge_error_bar=float(typed["gauge_error"].value) / 100_000,
        limit_g_per_h=float(limit.value) if limit else None,
    )


def _record_leak(request: VenueRequest, thing: Item | Keg, finding: Finding) -> None:
    kind = "keg" if isinstance(thing, Keg) else thing.kind
    results = {point.key: Result.PASS for point in points_of(kind, _LEAK)}
    if finding.severity is Severity.STOP:
        results["drop"] = Result.FAIL
    numbers = "; ".join(f"{label} {text}" for label, text in finding.evidence)
    services.record_check(
        check=_LEAK,
        results=results,
        comment=f"{finding.statement} {numbers}",
        by=request.membership.recorder,
        **owner_of(thing),
    )


def _document(request: VenueRequest, thing: Item | Keg | GasRoom) -> HttpResponse:
    form = DocumentForm(*_sent(request))
    if form.is_valid():
        with errors_shown_in(form):
            services.keep_document(
                venue=request.venue,
                kind=form.cleaned_data["kind"],
                sent=form.cleaned_data["file"],
                by=request.membership.recorder,
                **owner_of(thing),
            )
    if is_done(form):
        return done(request, f"the file is kept with {thing}.", url_of(thing))
    return form_page(request, form, f"A file about {thing}", url_of(thing), caution="")


def _sent(request: VenueRequest) -> tuple[QueryDict | None, MultiValueDict | None]:
    """Return what was typed and the files with it, be it nothing at all."""
    return (request.POST, request.FILES) if request.method == "POST" else (None, None)


def _rule(request: VenueRequest, thing: Item | Keg) -> CheckRule:
    """Return the check the address names; the first of the kind where it names none."""
    kind = "keg" if isinstance(thing, Keg) else thing.kind
    rules = checks_of(kind, regime_key(request.venue))
    asked = request.GET.get("check", rules[0].check)
    for rule in rules:
        if rule.check == asked:
            return rule
    raise Http404("There is no such check of this kind.")
