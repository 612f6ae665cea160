"""What happened to a line while it was cleaned: the record that 'do not pour' is read from."""

from django.db import models
from django.db.models import Q

from kegsafe.ledger.models import Recorded
from kegsafe.rules.cleaning import line_state as rules


class LineEvent(Recorded):
    """One event of one line, never changed. `sequence` rises under a lock on the line."""

    class Kind(models.TextChoices):
        CLEANING_BEGAN = rules.LineEventKind.CLEANING_BEGAN.value, "Cleaning began"
        DETERGENT_IN = rules.LineEventKind.DETERGENT_IN.value, "Detergent in"
        RINSE_READ = rules.LineEventKind.RINSE_READ.value, "Rinse read"
        SANITISER_IN = rules.LineEventKind.SANITISER_IN.value, "Sanitiser in"
        DRAINED = rules.LineEventKind.DRAINED.value, "Drained"
        CLEANING_ENDED = rules.LineEventKind.CLEANING_ENDED.value, "Cleaning ended"

    line = models.ForeignKey("equipment.Line", models.PROTECT, related_name="cleaning_events")
    sequence = models.PositiveIntegerField()
    kind = models.CharField(max_length=16, choices=Kind)
    at = models.DateTimeField()
    cycle = models.ForeignKey("cleaning.Cycle", models.PROTECT, related_name="line_events")
    seen = models.PositiveIntegerField(null=True, blank=True)
    is_verified = models.BooleanField(default=False)

    class Meta:
        verbose_name = "cleaning event of a line"
        ordering = ("line", "sequence")
        constraints = (
            models.UniqueConstraint(
                fields=("line", "sequence"), name="line_event_has_one_place_on_its_line"
            ),
            models.CheckConstraint(
                name="line_event_only_a_rinse_is_verified",
                condition=Q(is_verified=False) | Q(kind="rinse_read"),
            ),
        )

    def __str__(self) -> str:
        return f"{self.line}: {self.get_kind_display().lower()}"

    def as_rules(self) -> rules.LineEvent:
        """Return the event as the rules read it."""
        return rules.LineEvent(
            kind=rules.LineEventKind(self.kind),
            at=self.at,
            sequence=self.sequence,
            cycle=str(self.cycle_id),
            seen=self.seen,
            is_verified=self.is_verified,
        )


class SettledEvents(models.Model):
    """Up to which event a line was last found ready, so that a pour check reads a few rows.

    A line's events up to there say nothing more: the rules let them be left out from then on.
    No row is a line that was never settled, and all its events count.
    """

    line = models.OneToOneField(
        "equipment.Line", models.PROTECT, primary_key=True, related_name="settled_events"
    )
    sequence = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"{self.line} settled up to {self.sequence}"
