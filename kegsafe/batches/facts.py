"""A batch as the rules read it: a drink with every lot behind it, at any depth."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from kegsafe.batches.models import Batch, KegShelfLife
from kegsafe.batches.queries import behind_batches
from kegsafe.rules.allergens import AllergenFact, merge
from kegsafe.rules.facts import Drink, House, Part, ShelfLife, Trigger
from kegsafe.stock.facts import (
    ALLERGEN_COLUMNS,
    SHELF_LIFE_COLUMNS,
    allergen_facts,
    parts,
    shelf_life,
    shelf_lives_of,
)
from kegsafe.stock.frozen_lots import as_drawn
from kegsafe.stock.frozen_lots import batch as made_batch
from kegsafe.stock.models import Ingredient, Lot


@dataclass(frozen=True, slots=True)
class DrinkFacts:
    """A drink, and what is known of its allergens: in the keg alone, and as it is served.

    `not_known` names the ingredients whose list of allergens is not known whole.
    """

    drink: Drink
    in_keg: tuple[AllergenFact, ...]
    as_served: tuple[AllergenFact, ...]
    not_known: tuple[str, ...]


def drink_facts(batch: Batch, *, filled_at: datetime, at_house: House) -> DrinkFacts:
    """Gather a batch with its recipe in six queries, however deep its preparations go.

    One more where a lot behind it was ever thawed.
    `batch.recipe` and its assessment should have been fetched with it.
    """
    behind = behind_batches([batch.pk])[batch.pk]
    in_keg, _ = allergens_of(behind.ingredients)
    as_served, not_known = allergens_of(behind.served)
    lives = shelf_lives_of(behind.ingredients)
    lots = parts(Lot.objects.filter(pk__in=behind.lots).order_by("pk"), at_house.zone, lives)
    made = made_batch(batch.pk)
    drawn = as_drawn({lot.pk: lot.part for lot in lots}, {made: behind.lots}, at_house.zone)
    drink = _drink(batch, filled_at, tuple(drawn[made][lot.pk] for lot in lots))
    return DrinkFacts(drink, in_keg, as_served, not_known)


def allergens_of(
    ingredients: frozenset[int],
) -> tuple[tuple[AllergenFact, ...], tuple[str, ...]]:
    """Return what is known of some ingredients' allergens: one query."""
    rows = Ingredient.objects.filter(pk__in=ingredients).order_by("name", "pk")
    facts, not_known = allergen_facts(rows.values(*ALLERGEN_COLUMNS))
    return merge(facts), not_known


def _drink(batch: Batch, filled_at: datetime, lots: tuple[Part, ...]) -> Drink:
    """A measurement of the batch itself is better evidence than the recipe's test batch."""
    recipe = batch.recipe
    return Drink(
        name=recipe.name,
        made_at=batch.made_at,
        business_date=batch.business_date,
        filled_at=filled_at,
        parts=lots,
        measured_ph=first_known(batch.measured_ph, recipe.measured_ph),
        measured_water_activity=first_known(
            batch.measured_water_activity, recipe.measured_water_activity
        ),
        assessment=recipe.assessment.as_fact() if recipe.assessment else None,
        shelf_lives=_shelf_lives(recipe.pk),
        hold_at_or_below_degc=recipe.hold_at_or_below_degc,
    )


def _shelf_lives(recipe: int) -> tuple[ShelfLife, ...]:
    rows = KegShelfLife.objects.filter(recipe=recipe, withdrawn_at=None)
    return tuple(shelf_life(row, Trigger.KEGGED) for row in rows.values(*SHELF_LIFE_COLUMNS))


def first_known(*values: Decimal | None) -> Decimal | None:
    """Return the first value on record: the batch's own measurement before the recipe's."""
    return next((value for value in values if value is not None), None)
