"""A small bar to trace in: two suppliers, a cordial of a syrup, a batch in two kegs, one tapped."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.batches.models import Batch, Fill
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
    a_keg,
    a_lot,
    a_place,
    a_preparation,
    a_recipe,
    a_recorder,
    a_supplier,
    a_tapping,
    an_ingredient,
)


@dataclass(frozen=True)
class Bar:
    """What a trace in it meets. The cordial is made of the syrup, which is made of the juice."""

    venue: Venue
    juice: Lot
    spirit: Lot
    syrup: Lot
    cordial: Lot
    batch: Batch
    on_tap: Fill
    emptied: Fill


def a_traced_bar(venue: Venue, *, name: str = "", code: str = "", document: str = "") -> Bar:
    """Return the bar. `name`, `code` and `document` are typed wherever people type one.

    1000 ml of juice: 100 into 500 ml of syrup, 200 of that into 1000 ml of cordial, 500 of that
    and 500 of the spirit into a batch of 18 L. Two kegs of 9 L take all of it.
    """
    hour = timezone.now() - timedelta(hours=1)
    supplier = a_supplier(venue, name=name or "Harbour Wholesale")
    juice = a_lot(
        venue,
        ingredient=an_ingredient(venue, name=f"{name}Juice", category="acid_citrus_juice"),
        supplier=supplier,
        supplier_lot_code=code or "J-14",
        document=document or "HW 4711",
        received_at=hour - timedelta(hours=5),
    )
    spirit = a_lot(venue, supplier=supplier, received_at=hour - timedelta(hours=5))
    syrup = a_preparation(venue, juice, amount=Decimal(500), began_at=hour - timedelta(hours=4)).lot
    cordial = a_preparation(
        venue, syrup, drawn=Decimal(200), began_at=hour - timedelta(hours=3)
    ).lot
    batch = a_batch(
        venue,
        *(cordial, spirit),
        recipe=a_recipe(venue, name=f"{name}Highball"),
        made_at=hour - timedelta(hours=2),
    )
    kegs = [a_keg(venue, name=f"{name[:30]}K{number}") for number in (1, 2)]
    for keg in kegs:
        a_clean(venue, keg, cleaned_at=hour - timedelta(hours=2))
    on_tap, emptied = (
        a_fill(venue, batch=batch, keg=keg, filled_at=hour, place=a_place(venue)) for keg in kegs
    )
    a_tapping(venue, fill=on_tap)
    batches.empty_fill(fill=emptied, reason="Poured to the end.", by=a_recorder(venue))
    return Bar(venue, juice, spirit, syrup, cordial, batch, on_tap, emptied)
