"""What is held by the clock instead of by temperature, where the code lets a venue choose so."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from kegsafe.ledger.models import Recorded
from kegsafe.rules.cold.time_control import Option


class TimeHold(Recorded):
    """Food that left the cold to be served or discarded by a moment: one way, once.

    `procedure` names the written procedure that was on file beforehand.
    """

    class Way(models.TextChoices):
        FOUR_HOURS = Option.FOUR_HOURS.value, "Four hours"
        FOUR_HOURS_OPENED = (
            Option.FOUR_HOURS_OPENED.value,
            "Four hours, just cut or out of a container just opened",
        )
        SIX_HOURS = Option.SIX_HOURS.value, "Six hours, its warmest part watched"

    class End(models.TextChoices):
        SERVED = "served", "Served or used up"
        DISCARDED = "discarded", "Discarded"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="time_holds")
    what = models.CharField(
        "what is held", max_length=120, help_text="Such as cream jug, station 1."
    )
    way = models.CharField("how long", max_length=20, choices=Way)
    removed_at = models.DateTimeField("left the cold")
    start_degc = models.DecimalField("temperature then", max_digits=6, decimal_places=2)
    procedure = models.CharField("written procedure", max_length=160)
    begun_by = models.CharField(max_length=150)
    ended_at = models.DateTimeField(null=True, blank=True, editable=False)
    ended_as = models.CharField(max_length=10, choices=End, blank=True, editable=False)
    ended_by = models.CharField(max_length=150, blank=True, editable=False)

    class Meta:
        ordering = ("-removed_at",)
        constraints = (
            models.CheckConstraint(
                name="time_hold_ends_whole",
                condition=Q(ended_at=None, ended_as="", ended_by="")
                | (Q(ended_at__isnull=False) & ~Q(ended_as="") & ~Q(ended_by="")),
                violation_error_message="Say when it ended and whether it was served or discarded.",
            ),
        )
        indexes = (models.Index(fields=("venue", "-removed_at"), name="time_hold_newest_first"),)

    def __str__(self) -> str:
        return self.what

    def get_absolute_url(self) -> str:
        return reverse("time-hold", args=[self.pk])


class TimeHoldReading(Recorded):
    """A temperature read in the warmest part of something held by time."""

    hold = models.ForeignKey(TimeHold, models.PROTECT, related_name="readings")
    read_at = models.DateTimeField()
    temperature_degc = models.DecimalField("temperature", max_digits=6, decimal_places=2)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("read_at",)
        indexes = (models.Index(fields=("hold", "read_at"), name="time_hold_reading_in_order"),)

    def __str__(self) -> str:
        return f"{self.temperature_degc} °C at {self.read_at:%Y-%m-%d %H:%M}"
