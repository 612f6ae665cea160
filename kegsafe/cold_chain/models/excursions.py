"""What was done about a place that was too warm, and decided of one that nobody read."""

from django.db import models
from django.db.models import F, Q

from kegsafe.ledger.models import Recorded
from kegsafe.rules.cold.history import Counts as Said
from kegsafe.rules.cold.history import Decision


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


class GapDecision(Recorded):
    """What a manager decided of a stretch of a place that nobody read, and on what evidence.

    Never amended: somebody who knows more decides again, and the later word holds. It speaks of
    unread time alone; what was measured in the stretch, or comes to be known of it, stays.
    """

    class Counts(models.TextChoices):
        COLD = Said.COLD.value, "Counts as cold"
        WARM = Said.WARM.value, "Counts as above the limit"
        HOLD = Said.HOLD.value, "Hold what stood there"

    place = models.ForeignKey("equipment.Place", models.PROTECT, related_name="gap_decisions")
    from_s = models.BigIntegerField("second of the epoch it begins")
    until_s = models.BigIntegerField("second of the epoch it ends")
    counts = models.CharField("what it counts as", max_length=4, choices=Counts)
    found = models.CharField("what was found", max_length=500)
    measured_degc = models.DecimalField(
        "the drink measured", max_digits=6, decimal_places=2, null=True, blank=True
    )
    thermometer = models.ForeignKey(
        "cold_chain.Thermometer", models.PROTECT, null=True, blank=True, related_name="+"
    )
    decided_at = models.DateTimeField()
    decided_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-decided_at", "-pk")
        constraints = (
            models.CheckConstraint(
                name="gap_decision_ends_after_it_began",
                condition=Q(until_s__gt=F("from_s")),
                violation_error_message="The stretch ends before it begins.",
            ),
            models.CheckConstraint(
                name="gap_counts_as_cold_on_a_measurement",
                condition=~Q(counts="cold")
                | (Q(measured_degc__isnull=False) & Q(thermometer__isnull=False)),
                violation_error_message="To count it as cold, measure the drink and say by which "
                "thermometer.",
            ),
        )
        indexes = (models.Index(fields=("place", "until_s"), name="gap_decision_by_its_end"),)

    def __str__(self) -> str:
        return f"{self.place}: {self.get_counts_display().lower()}"

    def as_fact(self) -> Decision:
        """Return the decision as the rules read it."""
        return Decision(
            from_s=self.from_s,
            until_s=self.until_s,
            counts=Said(self.counts),
            by=self.decided_by,
            at=self.decided_at,
            found=self.found,
            measured_degc=self.measured_degc,
        )
