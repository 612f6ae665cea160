"""What a venue of the scenario has before anything happens there."""

from collections.abc import Iterator
from typing import Any

from kegsafe.batches import services as batches
from kegsafe.batches.models import RecipeItem
from kegsafe.demo.desk import Desk, measured, read_as
from kegsafe.demo.scenario import Table, VenueScript
from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Metal
from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind
from kegsafe.rules.facts import Basis
from kegsafe.stock import services as stock
from kegsafe.stock.models import Ingredient, Measure


def furnish(desk: Desk, script: VenueScript) -> None:
    """Record a venue's equipment, suppliers, ingredients and recipes, in its owner's name."""
    by = desk.by(script.owner)
    for place in script.places:
        added = equipment.add_place(venue=desk.venue, by=by, **place)
        desk.keep("place", added.name, added)
    for keg in script.kegs:
        _add_keg(desk, keg, by)
    for line in script.lines:
        _add_line(desk, line, by)
    for supplier in script.suppliers:
        added = stock.add_supplier(venue=desk.venue, by=by, **supplier)
        desk.keep("supplier", added.name, added)
    for ingredient in script.ingredients:
        added = _add_ingredient(desk, ingredient, by)
        desk.keep("ingredient", added.name, added)
    for recipe in script.recipes:
        _add_recipe(desk, recipe, by)


def _add_keg(desk: Desk, keg: Table, by: Recorder) -> None:
    added = equipment.add_keg(
        venue=desk.venue,
        name=keg["name"],
        capacity_ml=measured(keg["capacity"], Measure.VOLUME),
        rated_gauge_pa=read_as(keg.get("rated"), Kind.GAUGE_PRESSURE),
        metal=keg.get("metal", Metal.STAINLESS),
        serial=keg.get("serial", ""),
        by=by,
    )
    desk.keep("keg", added.name, added)


def _add_line(desk: Desk, line: Table, by: Recorder) -> None:
    """Add a line, and the tap at its end."""
    added = equipment.add_line(
        venue=desk.venue,
        name=line["name"],
        inner_diameter_mm=line["inner_diameter_mm"],
        length_m=line["length_m"],
        metal=Metal.STAINLESS,
        by=by,
    )
    desk.keep("line", added.name, added)
    tap = equipment.add_tap(venue=desk.venue, name=line["tap"], line=added, by=by)
    desk.keep("tap", tap.name, tap)


def _add_ingredient(desk: Desk, written: Table, by: Recorder) -> Ingredient:
    """Add an ingredient, from the starter catalogue where the scenario names its row."""
    facts = {name: value for name, value in written.items() if name not in _NOT_FACTS}
    allergens = {
        source: (statement, "") for source, statement in written.get("allergens", {}).items()
    }
    if "catalogue" not in written:
        return stock.add_ingredient(venue=desk.venue, allergens=allergens, by=by, **facts)
    [picked] = stock.pick_from_catalogue(venue=desk.venue, keys=[written["catalogue"]], by=by)
    if not facts.get("allergen_list_basis"):
        return picked
    facts = {"name": picked.name, "category": picked.category, **facts}
    reason = "Copied from the label."
    return stock.amend_ingredient(
        ingredient=picked, allergens=allergens, reason=reason, by=by, **facts
    )


_NOT_FACTS = {"catalogue", "allergens"}


def _add_recipe(desk: Desk, written: Table, by: Recorder) -> None:
    recipe = batches.add_recipe(
        venue=desk.venue, name=written["name"], by=by, **dict(_recipe_facts(desk, written))
    )
    desk.keep("recipe", recipe.name, recipe)
    for item in written["items"]:
        ingredient = desk.get("ingredient", item["of"])
        batches.add_recipe_item(
            recipe=recipe,
            ingredient=ingredient,
            where=item.get("where", RecipeItem.Where.KEG),
            amount=measured(item["amount"], ingredient.measure),
            amount_typed=item["amount"],
            by=by,
        )
    if "keeps_days" in written:
        batches.add_keg_shelf_life(
            recipe=recipe,
            basis=Basis.HOUSE_RULE.value,
            days=written["keeps_days"],
            reference=written["keeps_reference"],
            approved_by=written["keeps_approved_by"],
            approved_on=desk.moments.day(written["keeps_approved_on"]),
            by=by,
        )


def _recipe_facts(desk: Desk, written: Table) -> Iterator[tuple[str, Any]]:
    yield "test_volume_ml", measured(written["test_volume"], Measure.VOLUME)
    yield "rest_hours", written["rest_hours"]
    yield "set_gauge_pa", read_as(written["pressure"], Kind.GAUGE_PRESSURE)
    yield "serve_ml", measured(written["serving"], Measure.VOLUME)
    yield "method", written.get("method", "")
    if "ph" in written:
        yield "measured_ph", written["ph"]
        yield "measured_on", desk.moments.day(written["measured_on"])
