"""Thermometers, the checks that say whether to believe them, and the cooling of each place."""

from django.db import models
from django.db.models import Q

from kegsafe.ledger.models import Recorded
from kegsafe.rules.cold.thermometers import Check, Method


class Thermometer(Recorded):
    """A thermometer or the probe of a logger."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="thermometers")
    name = models.CharField(max_length=60, help_text="What is written on it, such as probe 2.")
    is_air = models.BooleanField(
        "measures air",
        default=False,
        help_text="Codes allow an air thermometer to be further off than one for food.",
    )
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("venue", "name"),
                name="thermometer_name_once_per_venue",
                violation_error_message="There is already a thermometer of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class ThermometerCheck(Recorded):
    """One check in ice or in boiling water. Never amended: check again instead."""

    class Means(models.TextChoices):
        ICE_POINT = Method.ICE_POINT.value, "Ice water"
        BOILING_POINT = Method.BOILING_POINT.value, "Boiling water"

    thermometer = models.ForeignKey(Thermometer, models.PROTECT, related_name="checks")
    checked_at = models.DateTimeField()
    method = models.CharField(max_length=16, choices=Means)
    read_degc = models.DecimalField("read", max_digits=6, decimal_places=2)
    altitude_m = models.DecimalField(
        "altitude", max_digits=7, decimal_places=1, null=True, blank=True
    )
    air_pa = models.DecimalField(
        "air pressure", max_digits=9, decimal_places=1, null=True, blank=True
    )
    checked_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-checked_at",)
        indexes = (
            models.Index(fields=("thermometer", "-checked_at"), name="thermometer_check_newest"),
        )

    def __str__(self) -> str:
        return f"{self.thermometer} read {self.read_degc} °C in {self.get_method_display()}"

    def as_fact(self) -> Check:
        """Return the check as the rules read it."""
        return Check(
            checked_at=self.checked_at,
            method=Method(self.method),
            read_degc=self.read_degc,
            altitude_m=None if self.altitude_m is None else float(self.altitude_m),
            air_bar_abs=None if self.air_pa is None else float(self.air_pa) / 100_000,
        )


class PlaceCooling(Recorded):
    """How cold a place is meant to be, how often it is read, and by which thermometer.

    A blank limit leaves the code's; a limit here counts only where it is stricter.
    """

    class ProbeIn(models.TextChoices):
        AIR = "air", "Air"
        LIQUID = "liquid", "Liquid or food"

    place = models.OneToOneField("equipment.Place", models.PROTECT, related_name="cooling")
    target_degc = models.DecimalField(
        "target for quality", max_digits=6, decimal_places=2, null=True, blank=True
    )
    limit_degc = models.DecimalField(
        "own limit", max_digits=6, decimal_places=2, null=True, blank=True
    )
    reading_interval_s = models.PositiveIntegerField(
        "seconds between readings", null=True, blank=True
    )
    thermometer = models.ForeignKey(
        Thermometer, models.PROTECT, null=True, blank=True, related_name="places"
    )
    probe_in = models.CharField(
        "probe stands in", max_length=8, choices=ProbeIn, default=ProbeIn.AIR
    )

    class Meta:
        constraints = (
            models.CheckConstraint(
                name="place_is_read_at_some_interval",
                condition=Q(reading_interval_s=None) | Q(reading_interval_s__gte=1),
                violation_error_message="Readings are at least one second apart.",
            ),
        )

    def __str__(self) -> str:
        return f"cooling of {self.place}"
