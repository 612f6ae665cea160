"""What a self-check found on its day, and when the venue's chain of records was walked."""

from django.db import models
from django.db.models import Q

from kegsafe.ledger.models import Recorded


class SelfCheck(Recorded):
    """The gaps that the records showed at a moment, kept by somebody who looked at them.

    The trend is drawn from these, never worked out again: records amended since would show a
    better past than there was. `found` holds the gaps as `Gap.as_json` writes them.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="self_checks")
    checked_at = models.DateTimeField()
    code_key = models.CharField("food code", max_length=40)
    stop = models.PositiveIntegerField("to be put right at once")
    write_up = models.PositiveIntegerField("to be written up")
    ask = models.PositiveIntegerField("to be asked about")
    found = models.JSONField(default=list, blank=True)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        verbose_name = "self-check"
        ordering = ("-checked_at", "-pk")
        indexes = (models.Index(fields=("venue", "-checked_at"), name="self_check_newest_first"),)

    def __str__(self) -> str:
        return f"self-check of {self.checked_at:%Y-%m-%d}"


class ChainWalk(Recorded):
    """One walk along the venue's chain of records: how far it went and whether all of it held.

    Walking the chain for each page would be too slow; a walk is recorded, and the self-check
    asks how long ago the last one was.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="chain_walks")
    walked_at = models.DateTimeField()
    entries = models.PositiveBigIntegerField()
    head_hash = models.CharField("head of the chain", max_length=64)
    fault_at = models.PositiveBigIntegerField("entry at fault", null=True, blank=True)
    fault = models.CharField("what is wrong", max_length=200, blank=True)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        verbose_name = "verification of the ledger"
        ordering = ("-walked_at", "-pk")
        constraints = (
            models.CheckConstraint(
                name="chain_walk_names_its_fault",
                condition=Q(fault_at=None, fault="") | (Q(fault_at__isnull=False) & ~Q(fault="")),
            ),
        )
        indexes = (models.Index(fields=("venue", "-walked_at"), name="chain_walk_newest_first"),)

    def __str__(self) -> str:
        return f"ledger verified {self.walked_at:%Y-%m-%d %H:%M}"
