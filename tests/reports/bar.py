"""A keg of Orchard Sour as it stands on record, with its lots, for the labels to tell of."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from kegsafe.batches.models import Batch, Draw, Fill, Preparation, Recipe
from kegsafe.equipment import services as equipment
from kegsafe.ledger.services import create
from kegsafe.stock.models import Ingredient, IngredientAllergen, IngredientShelfLife, Lot, Measure
from kegsafe.venues.models import Venue
from tests.builders import a_keg, a_recorder

MADE_AT = datetime(2026, 4, 7, 21, 0, tzinfo=UTC)  # 17:00 in New York
NOW = MADE_AT + timedelta(hours=2)


def an_ingredient(venue: Venue, name: str, *, contains: tuple[str, ...] = (), **said) -> Ingredient:
    """Return an ingredient whose list of allergens was read from its label."""
    facts = {"category": "spirit", "allergen_list_basis": "maker's label", **said}
    ingredient = _on_record(venue, Ingredient(venue=venue, name=name, **facts))
    for source in contains:
        stated = IngredientAllergen.Statement.CONTAINS
        _on_record(
            venue, IngredientAllergen(ingredient=ingredient, source=source, statement=stated)
        )
    return ingredient


def a_shelf_life(ingredient: Ingredient, days: int, **said) -> IngredientShelfLife:
    """Return a rule of the house that somebody answers for, counted from the preparing."""
    facts = {
        "after": "prepared",
        "basis": "house_rule",
        "approved_by": "Mara Quill",
        "approved_on": MADE_AT.date(),
        **said,
    }
    rule = IngredientShelfLife(ingredient=ingredient, days=days, **facts)
    return _on_record(ingredient.venue, rule)


def a_lot(ingredient: Ingredient, code: str, **said) -> Lot:
    """Return a litre in stock, opened when the batch was made."""
    facts = {
        "measure": Measure.VOLUME,
        "amount_received": Decimal(1000),
        "amount_left": Decimal(1000),
        "date_kind": Lot.DateKind.NONE,
        "came_into_being_at": MADE_AT,
        "opened_at": MADE_AT,
        **said,
    }
    venue = ingredient.venue
    return _on_record(venue, Lot(venue=venue, ingredient=ingredient, code=code, **facts))


def a_preparation(ingredient: Ingredient, code: str, *behind: Lot, **said) -> Lot:
    """Return the lot of something made in house out of other lots."""
    venue = ingredient.venue
    lot = a_lot(ingredient, code, opened_at=None, **said)
    made = Preparation(venue=venue, lot=lot, began_at=lot.came_into_being_at, made_by="mara")
    _on_record(venue, made)
    for each in behind:
        _on_record(venue, _draw(each, preparation=made))
    return lot


def a_fill(
    venue: Venue, *, drink: str = "Orchard Sour", lots: tuple[Lot, ...] = (), **said
) -> Fill:
    """Return a keg filled from a batch of the lots, in the keg unless said otherwise."""
    recipe = Recipe(
        venue=venue,
        name=drink,
        test_volume_ml=Decimal(1000),
        hold_at_or_below_degc=said.pop("hold_at_or_below_degc", Decimal(4)),
    )
    batch = Batch(
        venue=venue,
        recipe=_on_record(venue, recipe),
        code=said.pop("batch_code", "260407-A"),
        made_at=MADE_AT,
        volume_ml=Decimal(18000),
        made_by="mara",
        abv_percent=Decimal("8.50"),
        total_so2_mg_per_l=Decimal(0),
    )
    _on_record(venue, batch)
    for lot in lots:
        _on_record(venue, _draw(lot, batch=batch))
    return _fill_of(batch, said)


def _fill_of(batch: Batch, said: dict) -> Fill:
    venue, recorder = batch.venue, a_recorder(batch.venue)
    keg = said.pop("keg", None) or a_keg(venue)
    use = equipment.begin_use(
        keg=keg,
        drink=batch.recipe.name,
        allergens=[],
        carried_over=[],
        began_at=MADE_AT,
        by=recorder,
    )
    facts = {
        "filled_at": MADE_AT + timedelta(hours=1),
        "ready_from": MADE_AT + timedelta(hours=25),
        "volume_ml": Decimal(18000),
        "liquid_temperature_degc": Decimal(2),
        "set_gauge_pa": Decimal(300_000),
        "filled_by": "mara",
        **said,
    }
    return _on_record(venue, Fill(batch=batch, keg=keg, use=use, **facts))


def _draw(lot: Lot, **into) -> Draw:
    return Draw(lot=lot, amount=Decimal(100), amount_typed="100 ml", drawn_at=MADE_AT, **into)


def _on_record(venue: Venue, row):
    create(row, by=a_recorder(venue), action="recorded")
    return row
