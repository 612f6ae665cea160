"""Pages of preparations and batches: lots in, by measured amounts."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.forms import BaseFormSet, Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches import queries, services
from kegsafe.batches.facts import allergens_of
from kegsafe.batches.forms.draws import Shelf, WantedAmount, draw_rows, proposed_rows
from kegsafe.batches.forms.making import (
    BatchAmendForm,
    BatchForm,
    BatchStartForm,
    LateDrawForm,
    PreparationForm,
)
from kegsafe.batches.lot_choices import lot_choices
from kegsafe.batches.mass_balance import of_lot, strength_of
from kegsafe.batches.models import Batch, Preparation, Recipe, RecipeItem
from kegsafe.batches.scaling import Amount, scale
from kegsafe.batches.views.drink import declaration_of_batch
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.quantities import Kind, Quantity, as_measured, write
from kegsafe.rules.allergens import SulphiteAmount, declare
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import Lot
from kegsafe.stock.services.drawing import KIND_OF
from kegsafe.stock.standing import standings
from kegsafe.stock.views.pages import act_page, list_page, may
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def preparations(request: VenueRequest) -> HttpResponse:
    """List the preparations, newest first."""
    return list_page(request, queries.preparations, "batches/preparations.html")


@page(read=EVERYBODY, post=NOBODY)
def preparation(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a preparation: lots in, lot out, its dates with their reasons, its allergens."""
    shown = get_object_or_404(queries.preparations(request.venue).select_related("venue"), pk=pk)
    behind = behind_lots([shown.lot_id])[shown.lot_id]
    [standing] = standings([shown.lot], request.venue, timezone.now())
    facts, not_known = allergens_of(
        frozenset(
            Lot.objects.filter(pk__in={shown.lot_id, *behind}).values_list(
                "ingredient_id", flat=True
            )
        )
    )
    context = {
        "preparation": shown,
        "draws": queries.draws_into(shown),
        "standing": standing,
        "declaration": declare(
            facts,
            request.venue.code.allergen_regime,
            SulphiteAmount(shown.lot.total_so2_mg_per_l),
            timezone.localdate(),
        ),
        "not_known": not_known,
        "events": history(shown),
        **may(request),
    }
    return render(request, "batches/preparation.html", context)


@page(read=RECORDERS, post=RECORDERS)
def preparation_add(request: VenueRequest) -> HttpResponse:
    """Make a preparation; with `?again=` the rows are those of an earlier one."""
    shelf = Shelf(lot_choices(request.venue, timezone.now()), request.venue.units)
    form, rows = _preparation_forms(request, shelf)
    if form.is_bound and form.is_valid() and rows.is_valid():
        typed = form.cleaned_data
        with errors_shown_in(form):
            made = services.make_preparation(
                venue=request.venue,
                ingredient=typed["ingredient"],
                began_at=typed["began_at"] or timezone.now(),
                finished_at=typed["finished_at"],
                business_date=typed["business_date"],
                draws=rows.new_draws(),
                amount=typed["amount"].value,
                amount_typed=typed["amount"].typed,
                place=typed["place"],
                method=typed["method"],
                by=request.membership.recorder,
            )
        if form.is_valid():
            messages.success(request, f"Recorded: {made.lot}. Put its label on it.")
            return redirect(made)
    return _making_page(request, form, rows, shelf, "Make a preparation", "preparations")


@page(read=RECORDERS, post=RECORDERS)
def preparation_draw(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a draw that was not written down when the preparation was made."""
    into = get_object_or_404(
        Preparation.objects.select_related("venue", "lot__ingredient"), pk=pk, venue=request.venue
    )
    return _late_draw(request, into, f"Add a draw to {into.lot}")


@page(read=EVERYBODY, post=NOBODY)
def batches(request: VenueRequest) -> HttpResponse:
    """List the batches, newest first."""
    return list_page(request, queries.batches, "batches/batches.html")


@page(read=EVERYBODY, post=NOBODY)
def batch(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a batch: what went in, what it came to, the kegs it filled."""
    shown = get_object_or_404(
        Batch.objects.select_related("recipe__assessment", "venue"), pk=pk, venue=request.venue
    )
    declaration, not_known = declaration_of_batch(shown)
    context = {
        "batch": shown,
        "left_ml": shown.volume_ml - shown.filled_ml,
        "draws": queries.draws_into(shown),
        "fills": shown.fills.select_related("keg", "batch__recipe"),
        "now": timezone.now(),
        "declaration": declaration,
        "not_known": not_known,
        "events": history(shown),
        **may(request),
    }
    return render(request, "batches/batch.html", context)


@page(read=RECORDERS, post=RECORDERS)
def batch_add(request: VenueRequest) -> HttpResponse:
    """Make a batch: first which recipe and how much, then what was drawn for it."""
    # A recipe alone is a link from its page, and nobody's mistake yet.
    start = BatchStartForm(
        request.GET if "volume" in request.GET else None,
        venue=request.venue,
        initial={"recipe": request.GET.get("recipe")},
    )
    if not (start.is_bound and start.is_valid()):
        context = {"form": start, "heading": "Make a batch", "cancel_url": reverse("batches")}
        return render(request, "batches/form.html", context)
    recipe, target = start.cleaned_data["recipe"], start.cleaned_data["volume"]
    wanted = _scaled(request, recipe, target)
    shelf = Shelf(lot_choices(request.venue, timezone.now()), request.venue.units)
    form, rows = _batch_forms(request, shelf, wanted, target)
    if form.is_bound and form.is_valid() and rows.is_valid():
        with errors_shown_in(form):
            made = services.make_batch(
                venue=request.venue,
                recipe=recipe,
                made_at=form.cleaned_data["made_at"] or timezone.now(),
                draws=rows.new_draws(),
                by=request.membership.recorder,
                **form.record_values(),
            )
        if form.is_valid():
            messages.success(request, f"Recorded: {made}. Now fill it into kegs.")
            return redirect(made)
    heading = f"Make {recipe}, {write(target.value, Kind.VOLUME, request.venue.units)}"
    return _making_page(
        request,
        form,
        rows,
        shelf,
        heading,
        "batches",
        wanted=[(each, shelf.shortage(each)) for each in wanted],
        recipe=recipe,
    )


@page(read=RECORDERS, post=RECORDERS)
def batch_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Enter or correct what was measured on a batch."""
    record = get_object_or_404(Batch.objects.select_related("recipe"), pk=pk, venue=request.venue)
    return act_page(
        request,
        BatchAmendForm(request.POST or None, record=record),
        lambda form: services.amend_batch(
            batch=record,
            changes=form.changed_values(),
            reason=form.cleaned_data["reason"],
            seen_sequence=form.cleaned_data["seen"],
            by=request.membership.recorder,
        ),
        heading=f"Measurements of {record}",
        done=lambda _: "Recorded: what it said first is kept.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
        template="batches/form.html",
    )


@page(read=RECORDERS, post=RECORDERS)
def batch_draw(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a draw that was not written down when the batch was made."""
    into = get_object_or_404(
        Batch.objects.select_related("venue", "recipe"), pk=pk, venue=request.venue
    )
    return _late_draw(request, into, f"Add a draw to {into}")


def _preparation_forms(request: VenueRequest, shelf: Shelf) -> tuple[Form, BaseFormSet]:
    if "more" in request.POST:
        form = PreparationForm(initial=request.POST.dict(), venue=request.venue)
        return form, draw_rows(request.POST, shelf, more=True)
    if request.method == "POST":
        form = PreparationForm(request.POST, venue=request.venue)
        return form, draw_rows(request.POST, shelf)
    again = _again(request)
    initial = {"ingredient": again.lot.ingredient_id, "method": again.method} if again else {}
    proposed = proposed_rows(_drawn_before(request, again), shelf) if again else ()
    form = PreparationForm(initial=initial, venue=request.venue)
    return form, draw_rows(None, shelf, proposed=proposed)


def _again(request: VenueRequest) -> Preparation | None:
    key = request.GET.get("again", "")
    if not (key.isdecimal() and len(key) < 19):
        return None
    return queries.preparations(request.venue).filter(pk=int(key)).first()


def _drawn_before(request: VenueRequest, again: Preparation) -> list[WantedAmount]:
    return [
        WantedAmount(
            each.lot.ingredient_id,
            each.lot.ingredient.name,
            each.amount,
            each.amount_typed,
            each.lot.measure,
        )
        for each in queries.draws_into(again)
    ]


def _batch_forms(
    request: VenueRequest, shelf: Shelf, wanted: Sequence[WantedAmount], target: Quantity
) -> tuple[Form, BaseFormSet]:
    if "more" in request.POST:
        form = BatchForm(initial=request.POST.dict())
        return form, draw_rows(request.POST, shelf, more=True)
    if request.method == "POST":
        return BatchForm(request.POST), draw_rows(request.POST, shelf)
    rows = proposed_rows(wanted, shelf)
    return BatchForm(initial={"volume_ml": target.typed}), draw_rows(None, shelf, proposed=rows)


def _scaled(request: VenueRequest, recipe: Recipe, target: Quantity) -> list[WantedAmount]:
    """Return what the recipe asks for at the target volume: as measured, and exactly."""
    items = list(
        recipe.items.filter(is_removed=False, where=RecipeItem.Where.KEG).select_related(
            "ingredient"
        )
    )
    amounts = [Amount(item.amount, KIND_OF[item.measure]) for item in items]
    scaled = scale(amounts, recipe.test_volume_ml, target.value, request.venue.units)
    return [
        WantedAmount(
            item.ingredient_id,
            item.ingredient.name,
            each.measured.value,
            f"{each.measured.text} (exactly {each.exact_text})",
            item.measure,
        )
        for item, each in zip(items, scaled, strict=True)
    ]


def _late_draw(request: VenueRequest, into: Batch | Preparation, heading: str) -> HttpResponse:
    shelf = Shelf(lot_choices(request.venue, timezone.now()), request.venue.units)
    posted = request.POST if request.method == "POST" else None
    form, rows = LateDrawForm(posted), draw_rows(posted, shelf)
    if form.is_bound and form.is_valid() and rows.is_valid():
        _record_late_draws(request, into, form, rows)
        if form.is_valid():
            messages.success(request, "Recorded, and everything made of it computed again.")
            return redirect(into)
    return _making_page(request, form, rows, shelf, heading, into.get_absolute_url())


def _record_late_draws(
    request: VenueRequest, into: Batch | Preparation, form: Form, rows: BaseFormSet
) -> None:
    draws = rows.new_draws()
    if len(draws) != 1:
        form.add_error(None, "Enter one draw at a time: one lot with its amount.")
        return
    with errors_shown_in(form):
        services.add_draw(
            into=into,
            draw_wanted=draws[0],
            drawn_at=form.cleaned_data["drawn_at"] or timezone.now(),
            reason=form.cleaned_data["reason"],
            by=request.membership.recorder,
        )


def _making_page(
    request: VenueRequest,
    form: Form,
    rows: BaseFormSet,
    shelf: Shelf,
    heading: str,
    cancel: str,
    **more: Any,
) -> HttpResponse:
    context = {
        "form": form,
        "rows": rows,
        "shelf": shelf,
        "heading": heading,
        "cancel_url": cancel if cancel.startswith("/") else reverse(cancel),
        "blend": _blend_typed(request, rows),
        **more,
    }
    return render(request, "batches/making.html", context)


def _blend_typed(request: VenueRequest, rows: BaseFormSet) -> str:
    """Return what the rows that are whole come to, in the units of the venue."""
    if not rows.is_bound or not rows.is_valid():
        return ""
    drawn = [of_lot(each.lot, each.amount) for each in rows.new_draws()]
    volume = strength_of(drawn).volume_ml if drawn else None
    return "" if volume is None else as_measured(volume, request.venue.units)
