"""Temperatures read in the places where kegs stand: by hand, from files, over the network."""

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


class LoggedReading(models.Model):
    """One temperature of a place at one second, whoever read it: what is integrated.

    Compact, because a bar has millions of them. The ledger proves the import or the hand
    reading they came with. Of two values for one second the warmer one is kept.
    """

    class Source(models.IntegerChoices):
        HAND = 0, "by hand"
        FILE = 1, "from a file"
        NETWORK = 2, "over the network"

    pk = models.CompositePrimaryKey("place", "at_s")
    place = models.ForeignKey("equipment.Place", models.PROTECT, db_index=False, related_name="+")
    at_s = models.BigIntegerField("second of the epoch")
    centi_degc = models.SmallIntegerField("hundredths of a degC")
    source = models.SmallIntegerField(choices=Source)

    class Meta:
        indexes = (
            models.Index(fields=("place", "at_s", "centi_degc"), name="logged_reading_covering"),
        )

    def __str__(self) -> str:
        return f"{self.centi_degc / 100} °C at {self.at_s}"


class HourOfReadings(models.Model):
    """What an hour of a place's readings amounts to, so that a year is read in a few thousand rows.

    Worked out from `LoggedReading` whenever that changes, never typed. `hour` is hours of the
    epoch; `longest_step_s` is the longest time between two readings of the hour.
    """

    pk = models.CompositePrimaryKey("place", "hour")
    place = models.ForeignKey("equipment.Place", models.PROTECT, db_index=False, related_name="+")
    hour = models.IntegerField()
    readings = models.IntegerField()
    coldest = models.SmallIntegerField()
    warmest = models.SmallIntegerField()
    first_s = models.BigIntegerField()
    first_centi_degc = models.SmallIntegerField()
    last_s = models.BigIntegerField()
    last_centi_degc = models.SmallIntegerField()
    longest_step_s = models.IntegerField()

    def __str__(self) -> str:
        return f"{self.readings} readings in hour {self.hour}"
