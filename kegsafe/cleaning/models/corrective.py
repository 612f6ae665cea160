"""What was done about a cycle that did not count."""

from django.db import models

from kegsafe.ledger.models import Recorded


class CorrectiveAction(Recorded):
    """What was found, why, what was done, and which drinks had gone through."""

    cycle = models.ForeignKey("cleaning.Cycle", models.PROTECT, related_name="corrective_actions")
    found = models.CharField("what was found", max_length=400)
    cause = models.CharField("why it happened", max_length=300)
    done = models.CharField("what was done", max_length=400)
    product_affected = models.CharField("drinks affected, and what became of them", max_length=400)
    acted_at = models.DateTimeField("when")
    recorded_by = models.CharField(max_length=150)
    verified_by = models.CharField(max_length=150, blank=True)
    verified_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-acted_at", "-pk")

    def __str__(self) -> str:
        return f"corrective action on {self.cycle}"
