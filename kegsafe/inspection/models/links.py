"""Links by which somebody reads one pack without signing in, and each time one was opened."""

from datetime import datetime

from django.db import models
from django.db.models import F, Q

from kegsafe.ledger.models import Recorded


class InspectorLink(Recorded):
    """A link to one pack: its sections and its days, nothing else of the site.

    It ends by itself at `ends_at`, or when somebody ends it. The secret in the address is kept as
    a hash only.
    """

    pack = models.ForeignKey("inspection.InspectionPack", models.PROTECT, related_name="links")
    reader = models.CharField("who it is for", max_length=120)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    made_by = models.CharField(max_length=150)
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True)

    class Meta:
        ordering = ("-made_at", "-pk")
        constraints = (
            models.CheckConstraint(condition=Q(ends_at__gt=F("made_at")), name="link_ends"),
            models.CheckConstraint(
                condition=Q(ended_at=None, ended_by="")
                | (Q(ended_at__isnull=False) & ~Q(ended_by="")),
                name="link_is_ended_by_somebody",
            ),
        )

    def __str__(self) -> str:
        return f"link for {self.reader}"

    def is_open(self, now: datetime) -> bool:
        """Whether it leads anywhere at that moment."""
        return self.ended_at is None and now < self.ends_at


class LinkOpening(Recorded):
    """A link that was opened: what of it, and when."""

    class Part(models.TextChoices):
        PAGE = "page", "The page"
        PDF = "pdf", "The pack as PDF"
        ROWS = "rows", "The pack with its rows"

    link = models.ForeignKey(InspectorLink, models.PROTECT, related_name="openings")
    part = models.CharField(max_length=4, choices=Part)
    opened_at = models.DateTimeField()

    class Meta:
        ordering = ("-opened_at", "-pk")
        indexes = (models.Index(fields=("link", "part", "-opened_at"), name="link_last_opened"),)

    def __str__(self) -> str:
        return f"{self.get_part_display()} opened"
