"""Recipes: written for a test batch, amended with a reason, dated by rules somebody answers for."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from kegsafe.batches.models import KegShelfLife, Recipe, RecipeItem
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create, record, take_turn
from kegsafe.stock import services as stock
from kegsafe.stock.models import Ingredient, ProductAssessment
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.stock.services.shelf_lives import refuse_nobodys_word
from kegsafe.venues.models import Venue


class RecipeFacts(TypedDict, total=False):
    """What a recipe says beside its name. A number left out is not known."""

    test_volume_ml: Decimal
    rest_hours: int
    set_gauge_pa: Decimal | None
    serve_ml: Decimal | None
    hold_at_or_below_degc: Decimal | None
    measured_ph: Decimal | None
    measured_water_activity: Decimal | None
    measured_on: date | None
    method: str
    is_active: bool


@transaction.atomic
def add_recipe(*, venue: Venue, name: str, by: Recorder, **facts: Unpack[RecipeFacts]) -> Recipe:
    """Add a recipe as proved in a test batch; its items follow one by one.

    Raises ValidationError for a name that is taken, and for a measurement
    without its day.
    """
    recipe = Recipe(venue=venue, name=name.strip(), **in_places_of(Recipe, facts))
    _check_measured(recipe)
    create(recipe, by=by, action="added")
    return recipe


@transaction.atomic
def amend_recipe(
    *,
    recipe: Recipe,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what a recipe says. Batches already made keep the figures they were made with."""
    for name, value in (changed := in_places_of(Recipe, changes)).items():
        setattr(recipe, name, value)
    _check_measured(recipe)
    return amend(recipe, changed, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def add_recipe_item(
    *,
    recipe: Recipe,
    ingredient: Ingredient,
    where: str,
    amount: Decimal,
    amount_typed: str,
    by: Recorder,
) -> RecipeItem:
    """Add an ingredient: for the test batch when in the keg, for one serving when in the glass."""
    take_turn(by)
    last = recipe.items.aggregate(last=Max("position"))["last"] or 0
    item = RecipeItem(
        recipe=recipe,
        position=last + 1,
        ingredient=ingredient,
        where=where,
        measure=ingredient.measure,
        amount_typed=amount_typed,
        **in_places_of(RecipeItem, {"amount": amount}),
    )
    create(item, by=by, action="added to the recipe")
    record(recipe, by=by, action="item added", detail={"item": str(item), "where": where})
    return item


@transaction.atomic
def remove_recipe_item(*, item: RecipeItem, reason: str, by: Recorder) -> RecipeItem:
    """Take an item out of a recipe from now on; it stays on record with the reason."""
    amend(item, {"is_removed": True}, by=by, reason=reason, action="removed from the recipe")
    detail = {"item": str(item), "reason": reason.strip()}
    record(item.recipe, by=by, action="item removed", detail=detail)
    return item


@transaction.atomic
def add_keg_shelf_life(
    *,
    recipe: Recipe,
    basis: str,
    by: Recorder,
    days: int | None = None,
    hours: int | None = None,
    held_at_or_below_degc: Decimal | None = None,
    reference: str = "",
    approved_by: str = "",
    approved_on: date | None = None,
    assessment: ProductAssessment | None = None,
) -> KegShelfLife:
    """Add how long the drink keeps in its keg: in days or hours from the fill, one of the two.

    A rule longer than the code's count does nothing until an assessment is on
    record; the use-by says so each time.

    Raises ValidationError when neither or both are given, and for a house rule
    or a study without the name and the day of who answers for it.
    """
    refuse_nobodys_word(basis, approved_by, approved_on)
    rule = KegShelfLife(
        recipe=recipe,
        days=days,
        hours=hours,
        basis=basis,
        reference=reference,
        approved_by=approved_by.strip(),
        approved_on=approved_on,
        assessment=assessment,
        **in_places_of(KegShelfLife, {"held_at_or_below_degc": held_at_or_below_degc}),
    )
    create(rule, by=by, action="set")
    record(recipe, by=by, action="shelf life set", detail={"rule": str(rule)})
    return rule


@transaction.atomic
def withdraw_keg_shelf_life(*, rule: KegShelfLife, reason: str, by: Recorder) -> KegShelfLife:
    """Take a rule out of force from now on; it stays on record with the reason."""
    take_turn(by)
    current = KegShelfLife.objects.select_for_update().get(pk=rule.pk)
    if current.withdrawn_at is not None:
        raise ValidationError("This rule is already withdrawn.")
    if not reason.strip():
        raise ValidationError({"reason": "Say why the rule no longer holds: a few words do."})
    current.withdrawn_at = timezone.now()
    current.save()
    detail = {"reason": reason.strip()}
    record(current, by=by, action="withdrew", detail=detail)
    record(current.recipe, by=by, action="shelf life withdrawn", detail=detail)
    return current


@transaction.atomic
def assess_recipe(*, recipe: Recipe, by: Recorder, **judgement: Any) -> ProductAssessment:
    """Record a competent person's judgement of the drink, and let its dates rest on it.

    `judgement` is what stock.services.add_assessment takes.
    """
    assessment = stock.add_assessment(venue=recipe.venue, by=by, **judgement)
    amend(
        recipe,
        {"assessment": assessment},
        by=by,
        reason=f"Assessment {assessment.reference} recorded.",
        action="assessed",
    )
    return assessment


def _check_measured(recipe: Recipe) -> None:
    """A measurement without its day could be of any test batch."""
    is_measured = recipe.measured_ph is not None or recipe.measured_water_activity is not None
    if is_measured and recipe.measured_on is None:
        raise ValidationError(
            {"measured_on": "Enter the day it was measured: 2026-04-07, for example."}
        )
    if recipe.measured_on is not None and recipe.measured_on > timezone.localdate():
        raise ValidationError(
            {"measured_on": f"{recipe.measured_on} has not come yet. Enter the day of it."}
        )
