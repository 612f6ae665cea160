"""Pages of ingredients: what each is, what is in it, how it keeps."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.ledger.forms import errors_shown_in
from kegsafe.rules.catalogue import catalogue as whole_catalogue
from kegsafe.rules.catalogue import search
from kegsafe.rules.tcs import tcs_categories
from kegsafe.stock import queries, services
from kegsafe.stock.forms.catalogue import PickForm
from kegsafe.stock.forms.ingredients import IngredientAmendForm, IngredientForm
from kegsafe.stock.forms.shelf_lives import AssessmentForm, ShelfLifeForm, WithdrawForm
from kegsafe.stock.forms.suppliers import FindForm
from kegsafe.stock.models import Ingredient, IngredientShelfLife
from kegsafe.stock.services.starter_catalogue import TAKEN, name_of
from kegsafe.stock.standing import standings
from kegsafe.stock.views.pages import act_page, list_page, may, sent
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def ingredients(request: VenueRequest) -> HttpResponse:
    """List the ingredients, with what is not known of their allergens."""
    return list_page(request, queries.ingredients, "stock/ingredients.html")


@page(read=EVERYBODY, post=NOBODY)
def ingredient(request: VenueRequest, pk: int) -> HttpResponse:
    """Show an ingredient with its facts, allergens, shelf lives, lots and history."""
    shown = get_object_or_404(
        Ingredient.objects.select_related("assessment"), pk=pk, venue=request.venue
    )
    lots = queries.lots(request.venue).filter(ingredient=shown)[: queries.LOTS_SHOWN]
    events = queries.history_of_ingredient(shown)
    context = {
        "ingredient": shown,
        "category": tcs_categories().get(shown.category),
        "stated": queries.allergens_stated(shown),
        "shelf_lives": shown.shelf_lives.filter(withdrawn_at=None).select_related("assessment"),
        "standings": standings(list(lots), request.venue, timezone.now()),
        "events": events,
        "is_from_catalogue": any(event.action == TAKEN for event in events),
        **may(request),
    }
    return render(request, "stock/ingredient.html", context)


@page(read=MANAGERS, post=MANAGERS)
def ingredient_add(request: VenueRequest) -> HttpResponse:
    """Add an ingredient with its facts and allergens."""
    return act_page(
        request,
        IngredientForm(sent(request)),
        lambda form: services.add_ingredient(
            venue=request.venue, by=request.membership.recorder, **form.record_values()
        ),
        heading="Add an ingredient",
        done=lambda added: f"Recorded: {added} is on the list.",
        done_url=lambda added: added.get_absolute_url(),
        cancel_url=reverse("ingredients"),
        template="stock/ingredient_form.html",
    )


@page(read=MANAGERS, post=MANAGERS)
def ingredient_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend the facts and allergens of an ingredient, with the reason."""
    record = get_object_or_404(Ingredient, pk=pk, venue=request.venue)
    return act_page(
        request,
        IngredientAmendForm(sent(request), record=record),
        lambda form: services.amend_ingredient(
            ingredient=record,
            reason=form.cleaned_data["reason"],
            seen_sequence=form.cleaned_data["seen"],
            by=request.membership.recorder,
            **form.record_values(),
        ),
        heading=f"Amend: {record}",
        done=lambda _: f"Recorded: {record} is amended; what it said first is kept.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
        template="stock/ingredient_form.html",
        subject=record,
    )


@page(read=MANAGERS, post=MANAGERS)
def shelf_life_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Set how long an ingredient keeps after an event."""
    record = get_object_or_404(Ingredient, pk=pk, venue=request.venue)
    return act_page(
        request,
        ShelfLifeForm(sent(request), venue=request.venue),
        lambda form: services.add_shelf_life(
            ingredient=record, by=request.membership.recorder, **form.record_values()
        ),
        heading=f"How long {record} keeps",
        done=lambda rule: f"Recorded: {rule}.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
        caution="A longer shelf life than the code's counts only on a competent person's "
        "assessment. The authority decides.",
    )


@page(read=MANAGERS, post=MANAGERS)
def shelf_life_withdraw(request: VenueRequest, pk: int) -> HttpResponse:
    """Take a shelf life out of force."""
    rule = get_object_or_404(
        IngredientShelfLife.objects.select_related("ingredient"),
        pk=pk,
        ingredient__venue=request.venue,
    )
    url = rule.ingredient.get_absolute_url()
    return act_page(
        request,
        WithdrawForm(sent(request)),
        lambda form: services.withdraw_shelf_life(
            rule=rule, by=request.membership.recorder, **form.cleaned_data
        ),
        heading="Withdraw a shelf life",
        done=lambda _: f"Recorded: {rule} no longer holds.",
        done_url=lambda _: url,
        cancel_url=url,
        template="stock/confirm.html",
        statement=f"{rule}: this rule will not count from now on. It stays on record.",
        button="Withdraw the rule",
        grave=True,
    )


@page(read=MANAGERS, post=MANAGERS)
def assessment_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a competent person's assessment of an ingredient."""
    record = get_object_or_404(Ingredient, pk=pk, venue=request.venue)
    return act_page(
        request,
        AssessmentForm(sent(request)),
        lambda form: services.add_assessment(
            venue=request.venue,
            ingredient=record,
            by=request.membership.recorder,
            **form.record_values(),
        ),
        heading=f"Assessment of {record}",
        done=lambda made: f"Recorded: {made}.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
        caution="Only a competent person may judge that a food needs no time/temperature control, "
        "and the authority may see it otherwise.",
    )


@page(read=MANAGERS, post=MANAGERS)
def catalogue(request: VenueRequest) -> HttpResponse:
    """Search the starter catalogue and take several ingredients at once."""
    find = FindForm(request.GET)
    query = find.cleaned_data["q"] if find.is_valid() else ""
    form = PickForm(sent(request))
    if form.is_valid():
        with errors_shown_in(form):
            added = services.pick_from_catalogue(
                venue=request.venue,
                keys=form.cleaned_data["keys"],
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, _picked(len(added), len(form.cleaned_data["keys"])))
        return redirect("ingredients")
    taken = {name.casefold() for name in request.venue.ingredients.values_list("name", flat=True)}
    entries = search(query) if query else whole_catalogue()
    context = {
        "find": find,
        "query": query,
        "form": form,
        "rows": [(entry, name_of(entry), name_of(entry).casefold() in taken) for entry in entries],
        "cancel_url": reverse("ingredients"),
    }
    return render(request, "stock/catalogue.html", context)


def _picked(added: int, picked: int) -> str:
    words = "1 ingredient was" if added == 1 else f"{added} ingredients were"
    there = picked - added
    already = f" {there} of that name stood on the list already." if there else ""
    return f"Recorded: {words} added.{already} Read each label and amend what it says otherwise."
