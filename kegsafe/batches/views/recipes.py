"""Pages of recipes: what a drink is made of, how long it keeps, and scaling it to kegs."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches import queries, services
from kegsafe.batches.estimates import estimate
from kegsafe.batches.forms.recipes import (
    KegShelfLifeForm,
    RecipeAmendForm,
    RecipeForm,
    RecipeItemForm,
    ScaleForm,
)
from kegsafe.batches.models import KegShelfLife, Recipe, RecipeItem
from kegsafe.batches.scaling import Amount, scale
from kegsafe.ledger.forms import ReasonForm
from kegsafe.ledger.queries import history
from kegsafe.stock.forms.shelf_lives import AssessmentForm
from kegsafe.stock.services.drawing import KIND_OF
from kegsafe.stock.views.pages import act_page, list_page, may
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, VenueRequest, page

FORM = "batches/form.html"


@page(read=EVERYBODY, post=NOBODY)
def recipes(request: VenueRequest) -> HttpResponse:
    """List the recipes."""
    return list_page(request, queries.recipes, "batches/recipes.html")


@page(read=EVERYBODY, post=NOBODY)
def recipe(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a recipe: its items, what they come to, how long it keeps, its history."""
    shown = _recipe(request, pk)
    items = _items(shown)
    context = {
        "recipe": shown,
        "in_keg": [item for item in items if item.where == RecipeItem.Where.KEG],
        "in_glass": [item for item in items if item.where == RecipeItem.Where.GLASS],
        "shelf_lives": shown.shelf_lives.filter(withdrawn_at=None).select_related("assessment"),
        "estimate": estimate(request.venue, items, shown.test_volume_ml, timezone.localdate()),
        "scale_form": ScaleForm(),
        "events": history(shown),
        **may(request),
    }
    return render(request, "batches/recipe.html", context)


@page(read=EVERYBODY, post=NOBODY)
def recipe_scale(request: VenueRequest, pk: int) -> HttpResponse:
    """Scale a recipe to a volume, or to a number of kegs at a fill level."""
    shown = _recipe(request, pk)
    form = ScaleForm(request.GET or None)
    items = [item for item in _items(shown) if item.where == RecipeItem.Where.KEG]
    amounts = [Amount(item.amount, KIND_OF[item.measure]) for item in items]
    target = form.target_ml if form.is_bound else None
    scaled = scale(amounts, shown.test_volume_ml, target, request.venue.units) if target else []
    context = {
        "recipe": shown,
        "form": form,
        "target_ml": target,
        "rows": list(zip(items, scaled, strict=False)),
        **may(request),
    }
    return render(request, "batches/recipe_scale.html", context)


@page(read=MANAGERS, post=MANAGERS)
def recipe_add(request: VenueRequest) -> HttpResponse:
    """Add a recipe; its items follow on its page."""
    return act_page(
        request,
        RecipeForm(request.POST or None),
        lambda form: services.add_recipe(
            venue=request.venue, by=request.membership.recorder, **form.record_values()
        ),
        heading="Add a recipe",
        done=lambda added: f"Recorded: {added}. Now add what goes into it.",
        done_url=lambda added: added.get_absolute_url(),
        cancel_url=reverse("recipes"),
        template=FORM,
    )


@page(read=MANAGERS, post=MANAGERS)
def recipe_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what a recipe says."""
    record = _recipe(request, pk)
    return act_page(
        request,
        RecipeAmendForm(request.POST or None, record=record),
        lambda form: services.amend_recipe(
            recipe=record,
            changes=form.changed_values(),
            reason=form.cleaned_data["reason"],
            seen_sequence=form.cleaned_data["seen"],
            by=request.membership.recorder,
        ),
        heading=f"Amend: {record}",
        done=lambda _: f"Recorded: {record} is amended; what it said first is kept.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
        template=FORM,
    )


@page(read=MANAGERS, post=MANAGERS)
def recipe_item_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Add an ingredient to a recipe."""
    record = _recipe(request, pk)
    return act_page(
        request,
        RecipeItemForm(request.POST or None, venue=request.venue),
        lambda form: services.add_recipe_item(
            recipe=record,
            ingredient=form.cleaned_data["ingredient"],
            where=form.cleaned_data["where"],
            amount=form.cleaned_data["amount"].value,
            amount_typed=form.cleaned_data["amount"].typed,
            by=request.membership.recorder,
        ),
        heading=f"Add to {record}",
        done=lambda added: f"Recorded: {added}.",
        done_url=lambda _: (
            reverse("recipe-item-add", args=[pk])
            if "another" in request.POST
            else record.get_absolute_url()
        ),
        cancel_url=record.get_absolute_url(),
        template="batches/recipe_item.html",
        recipe=record,
        items=_items(record),
    )


@page(read=MANAGERS, post=MANAGERS)
def recipe_item_remove(request: VenueRequest, pk: int) -> HttpResponse:
    """Take an item out of a recipe, with the reason."""
    item = get_object_or_404(
        RecipeItem.objects.select_related("recipe", "ingredient"),
        pk=pk,
        recipe__venue=request.venue,
        is_removed=False,
    )
    return act_page(
        request,
        ReasonForm(request.POST or None),
        lambda form: services.remove_recipe_item(
            item=item, reason=form.cleaned_data["reason"], by=request.membership.recorder
        ),
        heading=f"Take out of {item.recipe}",
        done=lambda _: f"Recorded: {item} is out of the recipe.",
        done_url=lambda _: item.recipe.get_absolute_url(),
        cancel_url=item.recipe.get_absolute_url(),
        template="batches/act.html",
        statement=f"Take {item} out of {item.recipe}?",
        button="Take it out",
    )


@page(read=MANAGERS, post=MANAGERS)
def recipe_shelf_life_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Set how long the drink keeps in its keg."""
    record = _recipe(request, pk)
    return act_page(
        request,
        KegShelfLifeForm(request.POST or None, venue=request.venue),
        lambda form: services.add_keg_shelf_life(
            recipe=record, by=request.membership.recorder, **form.record_values()
        ),
        heading=f"How long {record} keeps in the keg",
        done=lambda rule: f"Recorded: {rule}.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
        template=FORM,
        sentence="Alcohol, gas and cold are no evidence. A rule longer than the code's day count "
        "counts only with an assessment by a competent person.",
    )


@page(read=MANAGERS, post=MANAGERS)
def recipe_shelf_life_withdraw(request: VenueRequest, pk: int) -> HttpResponse:
    """Take an in-keg shelf life out of force."""
    rule = get_object_or_404(
        KegShelfLife.objects.select_related("recipe"), pk=pk, recipe__venue=request.venue
    )
    return act_page(
        request,
        ReasonForm(request.POST or None),
        lambda form: services.withdraw_keg_shelf_life(
            rule=rule, reason=form.cleaned_data["reason"], by=request.membership.recorder
        ),
        heading="Withdraw a shelf life",
        done=lambda _: "Recorded: the rule no longer holds.",
        done_url=lambda _: rule.recipe.get_absolute_url(),
        cancel_url=rule.recipe.get_absolute_url(),
        template="batches/act.html",
        statement=f"Withdraw the rule that {rule}?",
        button="Withdraw it",
    )


@page(read=MANAGERS, post=MANAGERS)
def recipe_assess(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a competent person's judgement of the drink."""
    record = _recipe(request, pk)
    return act_page(
        request,
        AssessmentForm(request.POST or None),
        lambda form: services.assess_recipe(
            recipe=record, by=request.membership.recorder, **form.record_values()
        ),
        heading=f"Assessment of {record}",
        done=lambda made: f"Recorded: assessment {made.reference} by {made.competent_person}.",
        done_url=lambda _: record.get_absolute_url(),
        cancel_url=record.get_absolute_url(),
        template=FORM,
    )


def _recipe(request: VenueRequest, pk: int) -> Recipe:
    return get_object_or_404(
        Recipe.objects.select_related("venue", "assessment"), pk=pk, venue=request.venue
    )


def _items(recipe: Recipe) -> list[RecipeItem]:
    return list(recipe.items.filter(is_removed=False).select_related("ingredient"))
