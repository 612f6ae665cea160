"""An invented bar with one keg on tap, recorded through the services, to measure pages on.

The drink in it rests on preparations of preparations, has ingredients with
allergens and shelf lives, two things added in the glass, and equipment with a
history: what a pour check in daily life has to look at.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.batches.models import Fill, Recipe
from kegsafe.cleaning.services import record_clean
from kegsafe.cold_chain.services import record_reading
from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Keg, Metal, Place, Tap
from kegsafe.ledger.services import Recorder
from kegsafe.stock import services as stock
from kegsafe.stock.models import Ingredient, Lot, ShelfLifeRule
from kegsafe.venues.models import Units, Venue
from kegsafe.venues.services import open_venue, set_local_limit

# Bought in. Name: kind of food, allergens, days it keeps once opened (None: no rule).
_BOUGHT: Mapping[str, tuple[str, Mapping[str, tuple[str, str]], int | None]] = {
    "Juniper spirit": ("spirit", {}, None),
    "Dry vermouth": ("wine", {"sulphite": ("contains", "")}, 28),
    "Lemon juice": ("acid_citrus_juice", {}, 3),
    "White sugar": ("dry_or_low_moisture", {}, None),
    "Lemongrass": ("whole_produce", {}, None),
    "Almond liqueur": ("liqueur", {"almond": ("contains", ""), "milk": ("may_contain", "")}, 180),
    "Citric acid": ("acid_or_additive", {}, None),
    "Soda water": ("soft_drink", {}, 1),
    "Celery bitters": ("liqueur", {"celery": ("contains", "")}, None),
}
# Made in house. Name: kind of food, what it is drawn from, days it keeps once prepared.
_PREPARED: Mapping[str, tuple[str, tuple[str, ...], int]] = {
    "Lemongrass syrup": ("acid_syrup", ("White sugar", "Lemongrass", "Citric acid"), 14),
    "Lemon cordial": ("acid_syrup", ("Lemongrass syrup", "Lemon juice"), 7),
    "House vermouth": ("infusion", ("Dry vermouth", "Lemon cordial"), 14),
}
_IN_THE_KEG = ("Juniper spirit", "House vermouth", "Lemon cordial", "Almond liqueur")
_IN_THE_GLASS = ("Soda water", "Celery bitters")


@dataclass(frozen=True, slots=True)
class Bar:
    """What is measured on: somebody who looks, and the keg looked at."""

    venue: Venue
    person: User
    keg: Keg
    fill: Fill


def open_bar() -> Bar:
    """Open the bar and record its first days, up to a keg that pours."""
    person = User.objects.create_user("mara")
    venue = open_venue(
        name="The Copper Finch",
        code_key="us_fda_2022",
        time_zone="America/New_York",
        units=Units.US,
        owner=person,
    )
    return _Opening(venue, person).to_the_first_pour()


class _Opening:
    """The records of the first days, in the order they come to be."""

    def __init__(self, venue: Venue, person: User) -> None:
        self.venue, self.person = venue, person
        self.by = Recorder(chain_key=venue.chain_id, person=person.get_username())
        self.now = timezone.now()
        self.ingredients: dict[str, Ingredient] = {}
        self.lots: dict[str, Lot] = {}

    def ago(self, **span: float) -> datetime:
        return self.now - timedelta(**span)

    def to_the_first_pour(self) -> Bar:
        set_local_limit(
            venue=self.venue,
            rule="cold_holding.maximum",
            value=Decimal(4),
            valid_from=self.ago(days=9).date(),
            by=self.by,
        )
        self._receive()
        self._prepare()
        keg, tap, cooler = self._equip()
        fill = self._fill(self._recipe(), keg, cooler)
        batches.tap_keg(fill=fill, tap=tap, at=self.ago(hours=20), by=self.by)
        for minutes in range(0, 300, 30):
            record_reading(
                place=cooler,
                read_at=self.ago(minutes=minutes),
                temperature_degc=Decimal("3.1"),
                by=self.by,
            )
        return Bar(self.venue, self.person, keg, fill)

    def _receive(self) -> None:
        """Take in everything that is bought, in one delivery."""
        for name, (category, allergens, days) in _BOUGHT.items():
            self._add(name, category, "opened", days, allergens=allergens)
        delivery = stock.receive_delivery(
            venue=self.venue,
            supplier=stock.add_supplier(venue=self.venue, name="Harbour Wholesale", by=self.by),
            received_at=self.ago(days=3),
            document="HW 4711",
            lots=[
                stock.NewLot(ingredient=each, amount=Decimal(20_000), amount_typed="20 L")
                for each in self.ingredients.values()
            ],
            by=self.by,
        )
        self.lots |= {lot.ingredient.name: lot for lot in delivery.lots.all()}

    def _prepare(self) -> None:
        """Make what is made in house, each on the one before."""
        for step, (name, (category, drawn, days)) in enumerate(_PREPARED.items()):
            ingredient = self._add(name, category, "prepared", days, made_in_house=True)
            self.lots[name] = batches.make_preparation(
                venue=self.venue,
                ingredient=ingredient,
                began_at=self.ago(days=2, hours=-step),
                draws=self._draws(drawn),
                amount=Decimal(4_000),
                amount_typed="4 L",
                by=self.by,
            ).lot

    def _add(
        self, name: str, category: str, after: str, days: int | None, **facts: Any
    ) -> Ingredient:
        ingredient = stock.add_ingredient(
            venue=self.venue,
            name=name,
            category=category,
            allergen_list_basis="maker's label",
            by=self.by,
            **facts,
        )
        if days is not None:
            stock.add_shelf_life(
                ingredient=ingredient,
                after=after,
                days=days,
                basis=ShelfLifeRule.Basis.HOUSE_RULE,
                approved_by="mara",
                approved_on=self.ago(days=9).date(),
                by=self.by,
            )
        self.ingredients[name] = ingredient
        return ingredient

    def _equip(self) -> tuple[Keg, Tap, Place]:
        """Set up a keg, a line with its tap and a cooler; clean what the drink will touch."""
        keg = equipment.add_keg(
            venue=self.venue,
            name="K1",
            capacity_ml=Decimal(19_000),
            rated_gauge_pa=Decimal(900_000),
            metal=Metal.STAINLESS,
            by=self.by,
        )
        line = equipment.add_line(venue=self.venue, name="L1", metal=Metal.STAINLESS, by=self.by)
        for item in ({"keg": keg}, {"line": line}):
            self._use_and_clean(item)
        tap = equipment.add_tap(venue=self.venue, name="T1", line=line, by=self.by)
        cooler = equipment.add_place(
            venue=self.venue, name="Keg cooler", kind=Place.Kind.KEG_COOLER, by=self.by
        )
        return keg, tap, cooler

    def _use_and_clean(self, item: Mapping[str, Any]) -> None:
        use = equipment.begin_use(
            **item,
            drink="Sparkling Paloma",
            allergens=[],
            carried_over=[],
            began_at=self.ago(days=3),
            by=self.by,
        )
        equipment.end_use(use, ended_at=self.ago(days=2, hours=12), by=self.by)
        record_clean(
            venue=self.venue,
            **item,
            cleaned_at=self.ago(days=2),
            method="detergent, rinse, sanitiser",
            sanitised=True,
            is_allergen_clean=True,
            verification="visual",
            by=self.by,
        )

    def _recipe(self) -> Recipe:
        recipe = batches.add_recipe(
            venue=self.venue,
            name="Lemongrass Collins",
            test_volume_ml=Decimal(1_000),
            rest_hours=12,
            set_gauge_pa=Decimal(200_000),
            serve_ml=Decimal(180),
            hold_at_or_below_degc=Decimal(5),
            measured_ph=Decimal("3.1"),
            measured_on=self.ago(days=9).date(),
            by=self.by,
        )
        for where, names in (("keg", _IN_THE_KEG), ("glass", _IN_THE_GLASS)):
            for name in names:
                batches.add_recipe_item(
                    recipe=recipe,
                    ingredient=self.ingredients[name],
                    where=where,
                    amount=Decimal(30),
                    amount_typed="30 ml",
                    by=self.by,
                )
        return recipe

    def _fill(self, recipe: Recipe, keg: Keg, cooler: Place) -> Fill:
        batches.add_keg_shelf_life(
            recipe=recipe,
            basis=ShelfLifeRule.Basis.HOUSE_RULE,
            days=21,
            approved_by="mara",
            approved_on=self.ago(days=9).date(),
            by=self.by,
        )
        batch = batches.make_batch(
            venue=self.venue,
            recipe=recipe,
            made_at=self.ago(days=1, hours=20),
            volume_ml=Decimal(18_000),
            draws=self._draws(_IN_THE_KEG),
            by=self.by,
        )
        return batches.fill_keg(
            batch=batch,
            keg=keg,
            filled_at=self.ago(days=1, hours=19),
            volume_ml=Decimal(18_000),
            liquid_temperature_degc=Decimal(3),
            set_gauge_pa=Decimal(200_000),
            place=cooler,
            by=self.by,
        )

    def _draws(self, names: tuple[str, ...]) -> list[tuple[Lot, Decimal, str]]:
        return [(self.lots[name], Decimal(1_000), "1 L") for name in names]
