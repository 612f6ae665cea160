"""What was done about a place that was too warm."""

from django.db import models

from kegsafe.ledger.models import Recorded


class CorrectiveAction(Recorded):
    """What somebody did about an excursion, which is known by its place and when it began."""

    place = models.ForeignKey("equipment.Place", models.PROTECT, related_name="corrective_actions")
    excursion_from_s = models.BigIntegerField("second of the epoch the excursion began")
    taken_at = models.DateTimeField()
    what = models.CharField("what was done", max_length=500)
    taken_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-taken_at",)
        indexes = (models.Index(fields=("place", "excursion_from_s"), name="action_by_excursion"),)

    def __str__(self) -> str:
        return f"{self.place}: {self.what}"
