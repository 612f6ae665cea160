"""A page for each calculator. Nothing is recorded here; what is typed stays in the address."""

from collections.abc import Iterator
from itertools import groupby

from csp.decorators import csp_replace
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_safe

from kegsafe.calculators.answering import plot as plot_of
from kegsafe.calculators.calculator import (
    Answer,
    Calculator,
    LogInput,
    PartsInput,
    Refused,
    Result,
)
from kegsafe.calculators.forms import CalculatorForm
from kegsafe.calculators.lists import as_lines
from kegsafe.calculators.plot import Plot
from kegsafe.calculators.plot_drawing import NARROW, WIDE, svg
from kegsafe.calculators.reading import missing
from kegsafe.calculators.registry import UnknownCalculator, by_subject, calculator_called
from kegsafe.quantities import UnitSystem
from kegsafe.venues.access import EVERYBODY, NOBODY, VenueRequest, page

_SIZES = {"wide": WIDE, "narrow": NARROW}
_ROWS_BESIDE_A_PLOT = 9
_NOT_AN_INPUT = "csrfmiddlewaretoken"


@require_safe
@page(read=EVERYBODY, post=NOBODY)
def index(request: VenueRequest) -> HttpResponse:
    """List the calculators by subject; find one by any word."""
    wanted = request.GET.get("q", "").strip()[:80]
    context = {"subjects": by_subject(wanted), "wanted": wanted}
    return render(request, "calculators/index.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@page(post=EVERYBODY)
def calculator(request: VenueRequest, name: str) -> HttpResponse:
    """Show one calculator with its answer; the button works without scripts."""
    found = _called(name)
    typed = _typed(request)
    form = CalculatorForm(found, typed) if any(typed.values()) else CalculatorForm(found)
    context = {
        "calculator": found,
        "form": form,
        "example_url": f"{reverse('calculator', args=[name])}?{urlencode(_example(found))}",
        **(_answer_context(request, form) if form.is_bound else {}),
    }
    return render(request, "calculators/calculator.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@page(post=EVERYBODY)
def answer(request: VenueRequest, name: str) -> HttpResponse:
    """Answer while somebody types: the part of the page that changes."""
    found = _called(name)
    form = CalculatorForm(found, _typed(request))
    context = {"calculator": found, "is_typing": True, **_answer_context(request, form)}
    response = render(request, "calculators/_answer.html", context)
    if request.method == "GET":
        query = urlencode({key: text for key, text in form.typed.items() if text})
        response["HX-Replace-Url"] = f"{reverse('calculator', args=[name])}?{query}"
    return response


# A drawing carries its own styles and is shown as a picture; it may load nothing at all.
@csp_replace({"default-src": ["'none'"], "style-src": ["'unsafe-inline'"]})
@require_safe
@page(read=EVERYBODY, post=NOBODY)
def plot(request: VenueRequest, name: str, size: str) -> HttpResponse:
    """Draw the plot of a calculator for what was typed."""
    try:
        found = plot_of(_called(name), _typed(request), request.venue.units)
    except Refused:
        found = None
    if found is None or size not in _SIZES:
        raise Http404("There is no plot for these figures.")
    drawn = svg(found, request.venue.units, _SIZES[size])
    return HttpResponse(drawn, content_type="image/svg+xml")


def _called(name: str) -> Calculator:
    try:
        return calculator_called(name)
    except UnknownCalculator as unknown:
        raise Http404(str(unknown)) from None


def _example(calculator: Calculator) -> dict[str, str]:
    """The example as somebody fills it in: lists one row a line."""
    return {
        key: as_lines(text) if isinstance(calculator.by_key[key], PartsInput) else text
        for key, text in calculator.example.items()
    }


def _typed(request: HttpRequest) -> dict[str, str]:
    sent: QueryDict = request.POST if request.method == "POST" else request.GET
    return {key: str(text) for key, text in sent.items() if key != _NOT_AN_INPUT}


def _answer_context(request: VenueRequest, form: CalculatorForm) -> dict[str, object]:
    if not form.is_valid() or form.answered is None:
        return {"needed": missing(form.calculator, form.typed), "mistakes": _mistakes(form)}
    (_, figures), *groups = _groups(form.answered.answer, request.venue.units)
    return {
        "answered": form.answered,
        "figures": figures,
        "groups": groups,
        **_plot_context(form, request.venue.units),
    }


def _mistakes(form: CalculatorForm) -> list[tuple[str, str, str]]:
    """Id and label of each field that was filled in wrongly, with the sentence."""
    general = [("", "", str(sentence)) for sentence in form.non_field_errors()]
    return general + [
        (field.auto_id, str(field.label), str(sentence))
        for field in form
        if form.typed.get(field.name, "").strip()
        for sentence in field.errors
    ]


def _groups(answer: Answer, units: UnitSystem) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Headings with the rows below them; the first heading is blank."""

    def heading(result: Result) -> str:
        return result.group

    for group, results in groupby(answer.results, key=heading):
        yield group, [(result.label, result.text(units)) for result in results]


def _plot_context(form: CalculatorForm, units: UnitSystem) -> dict[str, object]:
    try:
        found = plot_of(form.calculator, form.typed, units)
    except Refused:
        return {}
    if found is None:
        return {}
    query = urlencode({key: form.typed[key] for key in _scalars(form) if form.typed.get(key)})
    urls = {
        size: f"{reverse('calculator-plot', args=[form.calculator.name, size])}?{query}"
        for size in _SIZES
    }
    return {"plot": found, "plot_urls": urls, "plot_rows": _rows(found, units)}


def _scalars(form: CalculatorForm) -> list[str]:
    """Inputs an address can hold; no plot is drawn from a list."""
    lists = PartsInput | LogInput
    return [each.key for each in form.calculator.inputs if not isinstance(each, lists)]


def _rows(plot: Plot, units: UnitSystem) -> list[list[str]]:
    """The lines of a plot as a table, for those who do not see it."""
    longest = max((line.points for line in plot.lines), key=len)
    step = max(1, (len(longest) - 1) // (_ROWS_BESIDE_A_PLOT - 1))
    return [
        [plot.x.text(x, units)] + [plot.y.text(line.points[place][1], units) for line in plot.lines]
        for place, (x, _) in enumerate(longest)
        if place % step == 0
    ]
