"""A small bar that records one thing after another, and says so only once it is on disk.

Started as a process of its own (`python -m tests.durability.bar_at_work ACTS`), with
DATABASE_URL naming its file. It prints a line for each act that was committed.
"""

import itertools
import os
import sys
from argparse import ArgumentParser
from collections.abc import Callable, Iterator
from datetime import timedelta
from decimal import Decimal

from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.batches.models import Batch, Fill, Recipe
from kegsafe.cleaning.queries import history_of
from kegsafe.cold_chain.services import record_round
from kegsafe.equipment.models import Keg, Place, Placement
from kegsafe.equipment.services import place_keg
from kegsafe.ledger.models import Chain
from kegsafe.stock import services as stock
from kegsafe.stock.models import Ingredient, Lot, Supplier
from kegsafe.venues.models import Venue
from tests.builders import (
    a_clean,
    a_fill,
    a_keg,
    a_place,
    a_recipe,
    a_recorder,
    a_supplier,
    a_venue,
    an_ingredient,
)

Act = Callable[[], object]
ACTS = 7  # how many there are before they come round again


def make_ready() -> None:
    """Make the tables and the bar: two places, a full keg that stands in one, a bottle."""
    call_command("migrate", verbosity=0)
    venue = a_venue()
    keg, place, _other = a_keg(venue), a_place(venue), a_place(venue)
    place_keg(keg=keg, place=place, at=timezone.now(), by=a_recorder(venue))
    a_supplier(venue)
    a_recipe(venue, an_ingredient(venue))
    bar = Bar()
    bar.receive()
    bar.make_batch()
    bar.clean()
    bar.fill()


class Bar:
    """The bar as somebody on shift uses it: every act through the services, some of many rows."""

    def __init__(self) -> None:
        self.venue = Venue.objects.get()
        self.by = a_recorder(self.venue)
        self.keg = Keg.objects.get()

    def acts(self) -> Iterator[tuple[str, Act]]:
        """Yield what is done next and how, round and round."""
        while True:
            yield "read every place", self.read_temperatures
            yield "move the keg", self.move
            yield "make a batch", self.make_batch
            yield self._next_for_the_keg()
            yield "receive three lots", self.receive
            yield "draw from a lot", self.draw
            yield self._hold_or_release()

    def read_temperatures(self) -> None:
        readings = {place: Decimal("3.4") for place in Place.objects.all()}
        record_round(venue=self.venue, readings=readings, read_at=timezone.now(), by=self.by)

    def move(self) -> None:
        stands_in = Placement.objects.get(keg=self.keg, ended_at=None).place_id
        [other] = Place.objects.exclude(pk=stands_in)
        place_keg(keg=self.keg, place=other, at=timezone.now(), by=self.by)

    def make_batch(self) -> None:
        lot = Lot.objects.order_by("pk").first()
        batches.make_batch(
            venue=self.venue,
            recipe=Recipe.objects.get(),
            made_at=timezone.now(),
            volume_ml=Decimal(18_000),
            draws=[(lot, Decimal("0.1"), "0.1 ml"), (lot, Decimal("0.2"), "0.2 ml")],
            by=self.by,
        )

    def clean(self) -> None:
        a_clean(self.venue, self.keg)

    def fill(self) -> None:
        a_fill(self.venue, batch=Batch.objects.latest("pk"), keg=self.keg, volume_ml=Decimal(1))

    def receive(self) -> None:
        bottle = stock.NewLot(
            ingredient=Ingredient.objects.get(), amount=Decimal(700), amount_typed="700 ml"
        )
        stock.receive_delivery(
            venue=self.venue,
            supplier=Supplier.objects.get(),
            received_at=timezone.now() - timedelta(seconds=1),
            document="",
            lots=[bottle, bottle, bottle],
            by=self.by,
        )

    def draw(self) -> None:
        lot = Lot.objects.order_by("pk").first()
        stock.draw_from_lot(lot=lot, amount=Decimal("0.1"), drawn_at=timezone.now(), by=self.by)

    def _next_for_the_keg(self) -> tuple[str, Act]:
        fill = Fill.objects.filter(keg=self.keg, state__in=Fill.OPEN_STATES).first()
        if fill:
            return "empty the keg", lambda: batches.empty_fill(fill=fill, by=self.by)
        history = history_of(keg=self.keg)
        emptied_at, cleaned_at = history.previous_use_ended_at, history.cleaned_at
        if cleaned_at and (emptied_at is None or cleaned_at > emptied_at):
            return "fill the keg", self.fill
        return "clean the keg", self.clean

    def _hold_or_release(self) -> tuple[str, Act]:
        lot = Lot.objects.order_by("pk")[1]
        change = {"lot": lot, "reason": "label unread", "by": self.by}
        if lot.status == Lot.Status.ON_HOLD:
            return "release a lot", lambda: stock.release_lot(**change)
        return "hold a lot", lambda: stock.hold_lot(**change)


def work(first: int, acts: int | None, say: int) -> None:
    """Record act after act, starting with the first-th, and write to the file `say` how it goes.

    'began ACT' before an act and 'kept SEQUENCE HASH' after its commit: the
    head of the chain then is proof of every entry up to it.
    """
    last = None if acts is None else first + acts
    for name, act in itertools.islice(Bar().acts(), first, last):
        os.write(say, f"began {name}\n".encode())
        act()
        sequence, digest = Chain.objects.values_list("head_sequence", "head_hash").get()
        os.write(say, f"kept {sequence} {digest}\n".encode())


if __name__ == "__main__":
    parser = ArgumentParser(description="Record so many acts of a bar, then stop.")
    parser.add_argument("acts", type=int)
    parser.add_argument("--synchronous", choices=["FULL", "NORMAL"], default="FULL")
    arguments = parser.parse_args()
    make_ready()
    if arguments.synchronous == "NORMAL":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA synchronous=NORMAL")
    work(0, arguments.acts, sys.stdout.fileno())
