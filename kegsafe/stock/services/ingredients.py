"""Ingredients and their allergens: each fact stated once, amended with a reason."""

from collections.abc import Mapping
from decimal import Decimal
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.rules.allergen_lists import processes, sources
from kegsafe.rules.allergens import State
from kegsafe.rules.tcs import tcs_categories
from kegsafe.stock.models import Ingredient, IngredientAllergen
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.venues.models import Venue

# What is known of one source: the statement, and the process's key where it is exempt.
Allergens = Mapping[str, tuple[str, str]]


class IngredientFacts(TypedDict, total=False):
    """What an ingredient states. A number left out is not known."""

    measure: str
    warning_group: str
    made_in_house: bool
    density_g_per_ml: Decimal | None
    abv_percent: Decimal | None
    total_so2_mg_per_l: Decimal | None
    total_so2_basis: str
    sugar_brix: Decimal | None
    measured_ph: Decimal | None
    measured_water_activity: Decimal | None
    heat_treated_and_packaged: bool
    shelf_stable_unopened: bool
    date_mark_exempt: bool
    allergen_list_basis: str
    is_active: bool


@transaction.atomic
def add_ingredient(
    *,
    venue: Venue,
    name: str,
    category: str,
    by: Recorder,
    allergens: Allergens | None = None,
    action: str = "added",
    **facts: Unpack[IngredientFacts],
) -> Ingredient:
    """Add an ingredient with its facts and what is known of its allergens.

    Raises ValidationError for a name that is taken, a kind of food that is not
    on the list, and a statement that names no known source or exemption.
    """
    ingredient = Ingredient(
        venue=venue,
        name=name.strip(),
        category=known_category(category),
        **in_places_of(Ingredient, facts),
    )
    create(ingredient, by=by, action=action)
    for source, (statement, exemption) in (allergens or {}).items():
        state_allergen(
            ingredient=ingredient, source=source, statement=statement, exemption=exemption, by=by
        )
    return ingredient


@transaction.atomic
def amend_ingredient(
    *,
    ingredient: Ingredient,
    name: str,
    category: str,
    reason: str,
    by: Recorder,
    allergens: Allergens | None = None,
    seen_sequence: int | None = None,
    **facts: Unpack[IngredientFacts],
) -> Ingredient:
    """Change facts and allergens of an ingredient; first values and reason stay on record.

    A source that has no statement may get one; a statement is changed and never taken
    back: what turns out to be absent becomes 'free from, by the supplier's word'.
    """
    _refuse_another_measure(ingredient, facts)
    changes = {"name": name.strip(), "category": known_category(category), **facts}
    amend(
        ingredient,
        in_places_of(Ingredient, changes),
        by=by,
        reason=reason,
        seen_sequence=seen_sequence,
    )
    for source, (statement, exemption) in (allergens or {}).items():
        state_allergen(
            ingredient=ingredient,
            source=source,
            statement=statement,
            exemption=exemption,
            by=by,
            reason=reason,
        )
    return ingredient


@transaction.atomic
def state_allergen(
    *,
    ingredient: Ingredient,
    source: str,
    statement: str,
    by: Recorder,
    exemption: str = "",
    reason: str = "",
) -> IngredientAllergen:
    """State what is known of one allergenic source; a second statement amends the first."""
    _check_statement(source, statement, exemption)
    stated = IngredientAllergen.objects.filter(ingredient=ingredient, source=source).first()
    if stated is None:
        stated = IngredientAllergen(
            ingredient=ingredient, source=source, statement=statement, exemption=exemption
        )
        create(stated, by=by, action="stated", reason=reason.strip())
    else:
        changes = {"statement": statement, "exemption": exemption}
        amend(stated, changes, by=by, reason=reason)
    return stated


def known_category(category: str) -> str:
    """Return the kind of food, or raise ValidationError naming some that are known."""
    if category not in tcs_categories():
        some = ", ".join(list(tcs_categories())[:4])
        raise ValidationError(
            {"category": f'"{category}" is no kind of food on the list. Known: {some}, …'}
        )
    return category


def _check_statement(source: str, statement: str, exemption: str) -> None:
    if source not in sources():
        raise ValidationError(f'"{source}" is no allergenic source on the list. Write "milk", say.')
    if statement not in IngredientAllergen.Statement.values:
        raise ValidationError(f'"{statement}" says nothing of {source}. Write "contains", say.')
    if statement != State.EXEMPT_BY_PROCESS:
        if exemption:
            raise ValidationError(f"Only an exempt source names an exemption; {source} is not.")
    elif exemption not in processes() or source not in processes()[exemption].sources:
        raise ValidationError(
            f'"{exemption}" is no exemption for {source}. Choose the process it went through.'
        )


def _refuse_another_measure(ingredient: Ingredient, facts: IngredientFacts) -> None:
    """Lots are counted in the ingredient's measure: millilitres cannot turn into grams."""
    measure = facts.get("measure", ingredient.measure)
    if measure != ingredient.measure and ingredient.lots.exists():
        raise ValidationError(
            {
                "measure": f"Lots of {ingredient} are counted {ingredient.get_measure_display()}. "
                "Add a second ingredient for the other measure."
            }
        )
