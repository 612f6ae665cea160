"""Private addresses under which what is due can be followed as a calendar."""

from django.db import models

from kegsafe.ledger.models import Recorded


class FeedAddress(Recorded):
    """One address. Only the hash of its secret is kept: whoever reads the records cannot use it."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="feed_addresses")
    name = models.CharField("whose calendar", max_length=80)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    made_by = models.CharField(max_length=150)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "calendar address"
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"calendar of {self.name}"
