"""What a test needs on the shelf before it begins: only what matters is said, the rest is usual."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.batches.models import Batch, Fill, Preparation, Recipe, RecipeItem, Tapping
from kegsafe.cleaning import services as cleaning
from kegsafe.cleaning.models import CleaningRecord
from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Keg, Line, Metal, Place, Tap
from kegsafe.ledger.services import Recorder
from kegsafe.stock import services as stock
from kegsafe.stock.models import Ingredient, Lot, Supplier
from kegsafe.venues import services as venues
from kegsafe.venues.models import Role, Units, Venue

PASSWORD = "amber-kettle-42"

_numbers = count(1)


def a_venue(
    code_key: str = "us_fda_2022",
    time_zone: str = "America/New_York",
    *,
    name: str = "The Copper Finch",
    units: str = Units.US,
    owner: User | None = None,
) -> Venue:
    """Return an open venue with an owner."""
    return venues.open_venue(
        name=name, code_key=code_key, time_zone=time_zone, units=units, owner=owner or _a_user()
    )


def a_person(venue: Venue, role: str = Role.STAFF, *, name: str | None = None) -> User:
    """Return somebody with an account (password PASSWORD) and a role at the venue."""
    user = _a_user(name)
    venues.give_role(venue=venue, user=user, role=role, by=a_recorder(venue))
    return user


def a_recorder(venue: Venue, person: str = "mara") -> Recorder:
    """Return who writes into the venue's chain."""
    return Recorder(chain_key=venue.chain_id, person=person)


def a_place(venue: Venue, *, name: str | None = None, kind: str = Place.Kind.KEG_COOLER) -> Place:
    """Return a place, chilled unless said otherwise."""
    return equipment.add_place(
        venue=venue, name=name or f"Cooler {next(_numbers)}", kind=kind, by=a_recorder(venue)
    )


def a_keg(
    venue: Venue,
    *,
    name: str | None = None,
    capacity_ml: Decimal = Decimal(19_000),
    rated_gauge_pa: Decimal | None = Decimal(900_000),
    metal: str = Metal.STAINLESS,
) -> Keg:
    """Return an empty stainless keg of 19 L, rated for 9 bar gauge."""
    return equipment.add_keg(
        venue=venue,
        name=name or f"K{next(_numbers)}",
        capacity_ml=capacity_ml,
        rated_gauge_pa=rated_gauge_pa,
        metal=metal,
        serial="",
        by=a_recorder(venue),
    )


def a_line(venue: Venue, *, name: str | None = None, metal: str = Metal.STAINLESS) -> Line:
    """Return a line that carries nothing."""
    return equipment.add_line(
        venue=venue, name=name or f"L{next(_numbers)}", metal=metal, by=a_recorder(venue)
    )


def a_tap(venue: Venue, *, line: Line | None = None, name: str | None = None) -> Tap:
    """Return a tap, on a line of its own unless one is given."""
    return equipment.add_tap(
        venue=venue,
        name=name or f"T{next(_numbers)}",
        line=line or a_line(venue),
        by=a_recorder(venue),
    )


def a_supplier(venue: Venue, *, name: str | None = None) -> Supplier:
    """Return a business that deliveries come from."""
    return stock.add_supplier(
        venue=venue, name=name or f"Supplier {next(_numbers)}", by=a_recorder(venue)
    )


def an_ingredient(
    venue: Venue,
    *,
    name: str | None = None,
    category: str = "spirit",
    allergen_list_basis: str = "maker's label",
    **facts: Any,
) -> Ingredient:
    """Return an ingredient whose label was read and names no allergen: a spirit by default."""
    return stock.add_ingredient(
        venue=venue,
        name=name or f"Ingredient {next(_numbers)}",
        category=category,
        allergen_list_basis=allergen_list_basis,
        by=a_recorder(venue),
        **facts,
    )


def a_lot(
    venue: Venue,
    *,
    ingredient: Ingredient | None = None,
    supplier: Supplier | None = None,
    amount: Decimal = Decimal(1000),
    use_by: date | None = None,
    received_at: datetime | None = None,
    document: str = "",
    **line: Any,
) -> Lot:
    """Return an accepted lot of 1000 (ml, g or pieces), delivered an hour ago."""
    new = stock.NewLot(
        ingredient=ingredient or an_ingredient(venue),
        amount=amount,
        amount_typed=f"{amount:f}",
        date_kind=Lot.DateKind.USE_BY if use_by else Lot.DateKind.NONE,
        date_on=use_by,
        **line,
    )
    delivery = stock.receive_delivery(
        venue=venue,
        supplier=supplier or a_supplier(venue),
        received_at=received_at or timezone.now() - timedelta(hours=1),
        document=document,
        lots=[new],
        by=a_recorder(venue),
    )
    return delivery.lots.get()


def _a_user(name: str | None = None) -> User:
    return User.objects.create_user(name or f"person{next(_numbers)}", password=PASSWORD)


def a_recipe(venue: Venue, *in_keg: Ingredient, name: str | None = None, **facts: Any) -> Recipe:
    """Return a recipe for a test batch of 1.5 L: 500 of each ingredient, one spirit by default.

    Its pH of 3.2 was measured, and a signed house rule keeps it ten days in the keg.
    """
    today = venue.local(timezone.now()).date()
    stated = {
        "test_volume_ml": Decimal(1500),
        "measured_ph": Decimal("3.2"),
        "measured_on": today,
        **facts,
    }
    by = a_recorder(venue)
    recipe = batches.add_recipe(
        venue=venue, name=name or f"Drink {next(_numbers)}", by=by, **stated
    )
    for ingredient in in_keg or (an_ingredient(venue),):
        batches.add_recipe_item(
            recipe=recipe,
            ingredient=ingredient,
            where=RecipeItem.Where.KEG,
            amount=Decimal(500),
            amount_typed="500 ml",
            by=by,
        )
    batches.add_keg_shelf_life(
        recipe=recipe, days=10, basis="house_rule", approved_by="Mara", approved_on=today, by=by
    )
    return recipe


def a_preparation(
    venue: Venue,
    *lots: Lot,
    ingredient: Ingredient | None = None,
    amount: Decimal = Decimal(1000),
    drawn: Decimal = Decimal(100),
    began_at: datetime | None = None,
) -> Preparation:
    """Return a preparation begun a minute ago, with 100 drawn from each lot (a new one if none)."""
    made = ingredient or an_ingredient(venue, made_in_house=True, allergen_list_basis="")
    return batches.make_preparation(
        venue=venue,
        ingredient=made,
        began_at=began_at or timezone.now() - timedelta(minutes=1),
        draws=[(lot, drawn, f"{drawn:f}") for lot in lots or (a_lot(venue),)],
        amount=amount,
        amount_typed=f"{amount:f}",
        by=a_recorder(venue),
    )


def a_batch(
    venue: Venue,
    *lots: Lot,
    recipe: Recipe | None = None,
    volume_ml: Decimal = Decimal(18_000),
    drawn: Decimal = Decimal(500),
    made_at: datetime | None = None,
    **facts: Any,
) -> Batch:
    """Return a batch of 18 L made a minute ago, 500 drawn from each lot (a new one if none)."""
    return batches.make_batch(
        venue=venue,
        recipe=recipe or a_recipe(venue),
        made_at=made_at or timezone.now() - timedelta(minutes=1),
        volume_ml=volume_ml,
        draws=[(lot, drawn, f"{drawn:f}") for lot in lots or (a_lot(venue),)],
        by=a_recorder(venue),
        **facts,
    )


def a_clean(
    venue: Venue,
    item: Keg | Line,
    *,
    cleaned_at: datetime | None = None,
    is_allergen_clean: bool = True,
    verification: str = CleaningRecord.Verification.VISUAL,
) -> CleaningRecord:
    """Return a clean of a keg or a line, now, sanitised, and a verified allergen clean."""
    return cleaning.record_clean(
        venue=venue,
        keg=item if isinstance(item, Keg) else None,
        line=item if isinstance(item, Line) else None,
        cleaned_at=cleaned_at or timezone.now(),
        method="Rinse, caustic, rinse, sanitiser.",
        sanitised=True,
        is_allergen_clean=is_allergen_clean,
        verification=verification,
        by=a_recorder(venue),
    )


def a_fill(
    venue: Venue,
    *,
    batch: Batch | None = None,
    keg: Keg | None = None,
    filled_at: datetime | None = None,
    **facts: Any,
) -> Fill:
    """Return a clean keg (a new one if none) filled now with 9 L at 2 bar gauge and 2 degC."""
    stated = {
        "volume_ml": Decimal(9000),
        "liquid_temperature_degc": Decimal(2),
        "set_gauge_pa": Decimal(200_000),
        **facts,
    }
    batch = batch or a_batch(venue)
    if keg is None:
        keg = a_keg(venue)
        a_clean(venue, keg, cleaned_at=filled_at)
    return batches.fill_keg(
        batch=batch,
        keg=keg,
        filled_at=filled_at or timezone.now(),
        by=a_recorder(venue),
        **stated,
    )


def a_tapping(
    venue: Venue, *, fill: Fill | None = None, tap: Tap | None = None, at: datetime | None = None
) -> Tapping:
    """Return a keg put on a tap now, its line clean (a new tap if none)."""
    fill = fill or a_fill(venue)
    if tap is None:
        tap = a_tap(venue)
        a_clean(venue, tap.line, cleaned_at=at)
    return batches.tap_keg(fill=fill, tap=tap, at=at or timezone.now(), by=a_recorder(venue))
