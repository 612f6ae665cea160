"""Temperatures read in the places where kegs stand."""

from django.db import models

from kegsafe.ledger.models import Recorded


class Reading(Recorded):
    """A temperature read by hand in a place."""

    place = models.ForeignKey("equipment.Place", models.PROTECT, related_name="readings")
    read_at = models.DateTimeField()
    temperature_degc = models.DecimalField("temperature", max_digits=6, decimal_places=2)
    recorded_by = models.CharField(max_length=150)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-read_at",)
        indexes = (models.Index(fields=("place", "-read_at"), name="reading_newest_first"),)

    def __str__(self) -> str:
        return f"{self.temperature_degc} °C in {self.place} at {self.read_at:%Y-%m-%d %H:%M}"
