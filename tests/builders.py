"""What a test needs on the shelf before it begins: only what matters is said, the rest is usual."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

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
