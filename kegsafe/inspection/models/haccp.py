"""The venue's own HACCP summary, one row for each step of the work."""

from django.db import models

from kegsafe.ledger.models import Recorded


class HaccpStep(Recorded):
    """What the venue says of one step of its work, by the seven principles."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="haccp_steps")
    step = models.CharField(max_length=12)
    hazards = models.TextField("hazards")
    control = models.TextField("control measures")
    is_critical = models.BooleanField("this is a critical control point", default=False)
    critical_limits = models.TextField("critical limits")
    monitoring = models.TextField("monitoring")
    corrective_action = models.TextField("corrective action")
    verification = models.TextField("verification")
    records = models.TextField("records")

    class Meta:
        verbose_name = "step of the HACCP summary"
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=("venue", "step"), name="haccp_step_once_per_venue"),
        )

    def __str__(self) -> str:
        return f"HACCP summary: {self.step}"
