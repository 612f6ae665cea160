"""What a recipe comes to before it is made: an estimate from what its ingredients state."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import OuterRef, Subquery

from kegsafe.batches.facts import allergens_of
from kegsafe.batches.mass_balance import Drawn, Strength, of_ingredient, of_lot, strength_of
from kegsafe.batches.models import RecipeItem
from kegsafe.rules.allergens import Declaration, SulphiteAmount, declare
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue


@dataclass(frozen=True, slots=True)
class Estimate:
    """Alcohol, sulphites and sugar of the test batch, and the declaration of the drink as served.

    `not_known` names the ingredients whose allergens are not known whole;
    `not_made_yet` those made in house of which there is no lot to look at.
    """

    strength: Strength
    declaration: Declaration
    not_known: tuple[str, ...]
    not_made_yet: tuple[str, ...]


def estimate(
    venue: Venue, items: Sequence[RecipeItem], test_volume_ml: Decimal, on: date
) -> Estimate:
    """Return the estimate of a recipe: four queries. Items with their ingredients at hand.

    What the items do not come to counts as water. What is made in house is
    looked at in its newest lot, with every lot behind it.
    """
    newest = _newest_lots(venue, items)
    in_keg = [item for item in items if item.where == RecipeItem.Where.KEG]
    strength = strength_of([_drawn(item, newest) for item in in_keg], test_volume_ml)
    facts, not_known = allergens_of(_ingredients(items, newest))
    so2 = SulphiteAmount(strength.total_so2_mg_per_l)
    made = {item.ingredient for item in items if item.ingredient.made_in_house}
    return Estimate(
        strength=strength,
        declaration=declare(facts, venue.code.allergen_regime, so2, on),
        not_known=not_known,
        not_made_yet=tuple(sorted(each.name for each in made if each.pk not in newest)),
    )


def _newest_lots(venue: Venue, items: Sequence[RecipeItem]) -> dict[int, Lot]:
    made = {item.ingredient_id for item in items if item.ingredient.made_in_house}
    lots = Lot.objects.filter(venue=venue).exclude(status=Lot.Status.REJECTED)
    of_ingredient_newest = lots.filter(ingredient=OuterRef("ingredient")).order_by(
        "-came_into_being_at", "-pk"
    )
    newest = lots.filter(ingredient__in=made, pk=Subquery(of_ingredient_newest.values("pk")[:1]))
    return {lot.ingredient_id: lot for lot in newest.select_related("ingredient")}


def _drawn(item: RecipeItem, newest: dict[int, Lot]) -> Drawn:
    if not item.ingredient.made_in_house:
        return of_ingredient(item.ingredient, item.measure, item.amount)
    lot = newest.get(item.ingredient_id)
    if lot is None:
        return Drawn(item.measure, float(item.amount), None, None, None)
    return of_lot(lot, Decimal(item.amount))


def _ingredients(items: Sequence[RecipeItem], newest: dict[int, Lot]) -> frozenset[int]:
    behind = behind_lots(lot.pk for lot in newest.values())
    deeper = frozenset().union(*behind.values())
    own = {item.ingredient_id for item in items}
    return own | frozenset(
        Lot.objects.filter(pk__in=deeper).values_list("ingredient_id", flat=True)
    )
