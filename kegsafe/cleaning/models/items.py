"""What is cleaned besides kegs, lines and taps, and what kind of drink a piece carries."""

from django.db import models

from kegsafe.cleaning.models.equipment import OfOnePiece, is_of_one
from kegsafe.ledger.models import Recorded
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment

_DRINKS = [(kind.value, kind.value.replace("_", " ").capitalize()) for kind in DrinkKind]


class CleanItem(Recorded):
    """A coupler, a drip tray, a jug, a nozzle, an ice machine or bin, a water filter."""

    class Kind(models.TextChoices):
        COUPLER = Equipment.COUPLER.value, "Coupler"
        DRIP_TRAY = Equipment.DRIP_TRAY.value, "Drip tray"
        JUG = Equipment.JUG.value, "Jug or small ware"
        NOZZLE = Equipment.NOZZLE.value, "Nozzle"
        ICE_MACHINE = Equipment.ICE_MACHINE.value, "Ice machine"
        ICE_BIN = Equipment.ICE_BIN.value, "Ice bin"
        WATER_FILTER = Equipment.WATER_FILTER.value, "Water filter"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="clean_items")
    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=16, choices=Kind)
    place = models.ForeignKey(
        "equipment.Place", models.PROTECT, null=True, blank=True, related_name="clean_items"
    )
    drink_kind = models.CharField(
        "drink it touches", max_length=20, choices=_DRINKS, default=DrinkKind.ANY.value
    )
    is_active = models.BooleanField("in use", default=True)

    class Meta:
        verbose_name = "piece of equipment to clean"
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("venue", "name"),
                name="clean_item_name_once_per_venue",
                violation_error_message="There is already a piece of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class DrinkCarried(OfOnePiece, Recorded):
    """The kind of drink a keg, line or tap carries, as far as its cleaning goes.

    The newest record of a piece counts. Without one every plan for the sort of equipment does.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="drinks_carried")
    drink_kind = models.CharField("drink it carries", max_length=20, choices=_DRINKS)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        verbose_name = "kind of drink carried"
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(name="drink_carried_is_of_one_piece", condition=is_of_one()),
        )

    def __str__(self) -> str:
        return f"{self.piece} carries {self.get_drink_kind_display()}"
