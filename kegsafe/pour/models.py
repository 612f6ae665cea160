"""That somebody looked before pouring, and what the answer was."""

from django.db import models

from kegsafe.ledger.models import Recorded


class PourCheck(Recorded):
    """A pour check somebody recorded: the outcome and its reasons as shown."""

    fill = models.ForeignKey("batches.Fill", models.PROTECT, related_name="pour_checks")
    checked_at = models.DateTimeField()
    checked_by = models.CharField(max_length=150)
    outcome = models.CharField(max_length=4)
    findings = models.JSONField(default=list)

    class Meta:
        ordering = ("-checked_at",)
        indexes = (models.Index(fields=("fill", "-checked_at"), name="pour_check_newest_first"),)

    def __str__(self) -> str:
        return f"{self.fill}: {self.outcome} at {self.checked_at:%Y-%m-%d %H:%M}"
