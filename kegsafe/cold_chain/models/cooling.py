"""The cooling of a hot syrup or tea as a timed record."""

from django.db import models
from django.urls import reverse

from kegsafe.ledger.models import Recorded
from kegsafe.rules.cold.cooling import CoolingReading as CoolingReadingFact
from kegsafe.rules.cold.cooling import Procedure


class CoolingRecord(Recorded):
    """Something that cools: what it is and which procedure of the code it falls under."""

    class MadeFrom(models.TextChoices):
        HOT = Procedure.HOT.value, "Cooked, or made with hot water"
        AMBIENT = Procedure.AMBIENT.value, "Mixed at room temperature"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="cooling_records")
    what = models.CharField("what cools", max_length=120, help_text="Such as ginger syrup, pan 2.")
    procedure = models.CharField("made", max_length=8, choices=MadeFrom)
    began_at = models.DateTimeField()
    begun_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-began_at",)
        indexes = (models.Index(fields=("venue", "-began_at"), name="cooling_newest_first"),)

    def __str__(self) -> str:
        return self.what

    def get_absolute_url(self) -> str:
        return reverse("cooling", args=[self.pk])


class CoolingReading(Recorded):
    """A temperature read in the warmest part of something that cools."""

    cooling = models.ForeignKey(CoolingRecord, models.PROTECT, related_name="readings")
    read_at = models.DateTimeField()
    temperature_degc = models.DecimalField("temperature", max_digits=6, decimal_places=2)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("read_at",)
        indexes = (models.Index(fields=("cooling", "read_at"), name="cooling_reading_in_order"),)

    def __str__(self) -> str:
        return f"{self.temperature_degc} °C at {self.read_at:%Y-%m-%d %H:%M}"

    def as_fact(self) -> CoolingReadingFact:
        """Return the reading as the rules read it."""
        return CoolingReadingFact(self.read_at, self.temperature_degc)
