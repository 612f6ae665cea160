"""How gas gets to the kegs: connections, fresh charges of a cylinder, weighings."""

from django.db import models
from django.db.models import F, Q

from kegsafe.ledger.models import Recorded


class Connection(Recorded):
    """Gas flows from an item to another, or to a keg, from then to then."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="gas_connections")
    source = models.ForeignKey("pressure.Item", models.PROTECT, related_name="feeds")
    item = models.ForeignKey(
        "pressure.Item", models.PROTECT, null=True, blank=True, related_name="fed_by"
    )
    keg = models.ForeignKey(
        "equipment.Keg", models.PROTECT, null=True, blank=True, related_name="gas_connections"
    )
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "gas connection"
        ordering = ("-began_at",)
        constraints = (
            models.CheckConstraint(
                condition=Q(keg=None, item__isnull=False) | Q(keg__isnull=False, item=None),
                name="gas_connection_ends_in_one_thing",
            ),
            models.CheckConstraint(
                condition=Q(item=None) | ~Q(item=F("source")),
                name="gas_connection_feeds_another_thing",
                violation_error_message="A thing does not feed itself.",
            ),
            models.CheckConstraint(
                condition=Q(ended_at=None) | Q(ended_at__gte=F("began_at")),
                name="gas_connection_ends_after_it_began",
            ),
            models.UniqueConstraint(
                fields=("item",),
                condition=Q(ended_at=None),
                name="item_is_fed_by_one_thing",
                violation_error_message="It is connected already: disconnect it first.",
            ),
            models.UniqueConstraint(
                fields=("keg",),
                condition=Q(ended_at=None),
                name="keg_is_fed_by_one_thing",
                violation_error_message="This keg is on gas already: disconnect it first.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.source} to {self.item or self.keg}"


class GasFill(Recorded):
    """A fresh charge of a cylinder: gas is a food, so supplier, grade and lot stay with it."""

    class Grade(models.TextChoices):
        FOOD = "food", "Food grade (E 290 or beverage grade on the label)"
        OTHER = "other", "Another grade, or none on the label"

    item = models.ForeignKey("pressure.Item", models.PROTECT, related_name="gas_fills")
    received_at = models.DateTimeField()
    supplier = models.CharField(max_length=120)
    registration = models.CharField("food business registration", max_length=60, blank=True)
    grade = models.CharField(max_length=5, choices=Grade)
    lot = models.CharField("batch or lot", max_length=60)
    certificate = models.CharField("certificate", max_length=120, blank=True)
    charge_g = models.DecimalField("charge", max_digits=10, decimal_places=1)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        verbose_name = "gas in a cylinder"
        ordering = ("-received_at", "-pk")

    def __str__(self) -> str:
        return f"{self.item}: lot {self.lot}"


class Weighing(Recorded):
    """A cylinder on the scale, cap and hose off."""

    item = models.ForeignKey("pressure.Item", models.PROTECT, related_name="weighings")
    weighed_at = models.DateTimeField()
    gross_g = models.DecimalField("gross weight", max_digits=10, decimal_places=1)
    uncertainty_g = models.DecimalField("uncertainty of the scale", max_digits=8, decimal_places=1)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        verbose_name = "weighing of a cylinder"
        ordering = ("-weighed_at", "-pk")

    def __str__(self) -> str:
        return f"{self.item} weighed"
