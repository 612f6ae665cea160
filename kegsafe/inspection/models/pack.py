"""Packs that were made, and the work of making one."""

from datetime import timedelta

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from kegsafe.frame.kept_files import KeepsFiles, KeptFile
from kegsafe.ledger.models import Recorded


class PaperSize(models.TextChoices):
    """The papers of kegsafe.reports.paper in words."""

    A4 = "a4", "A4"
    LETTER = "letter", "Letter"


class InspectionPack(KeepsFiles, Recorded):
    """One pack as it was handed out: what it is about, what it rests on, what its bytes are.

    `counts` are the rows of each table. The PDF and the ZIP of its rows lie in the data folder
    under `stored_as`.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="packs")
    first = models.DateField("first day")
    last = models.DateField("last day")
    sections = models.JSONField()
    paper = models.CharField(max_length=6, choices=PaperSize)
    made_by = models.CharField(max_length=150)
    made_at = models.DateTimeField()
    head_sequence = models.PositiveBigIntegerField("last entry of the ledger")
    head_hash = models.CharField("its hash", max_length=64)
    counts = models.JSONField("rows of each table")
    pages = models.PositiveIntegerField()
    size = models.PositiveBigIntegerField()
    sha256 = models.CharField("SHA-256 of the PDF", max_length=64, db_index=True)
    rows_size = models.PositiveBigIntegerField()
    rows_sha256 = models.CharField("SHA-256 of the ZIP", max_length=64)
    stored_as = models.CharField(max_length=64, unique=True)

    class Meta:
        verbose_name = "inspection pack"
        ordering = ("-made_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(last__gte=F("first")), name="pack_ends_after_it_begins"
            ),
        )
        indexes = (models.Index(fields=("venue", "-made_at"), name="pack_newest_first"),)

    def __str__(self) -> str:
        return f"Inspection pack {self.first} to {self.last}"

    def get_absolute_url(self) -> str:
        return reverse("pack", args=[self.pk])

    def kept_files(self) -> tuple[KeptFile, ...]:
        """Return the PDF and the ZIP of its rows."""
        return (
            KeptFile("packs", f"{self.stored_as}.pdf", self.size, self.sha256),
            KeptFile("packs", f"{self.stored_as}.zip", self.rows_size, self.rows_sha256),
        )


class PackWork(models.Model):
    """The work of making one pack: ordered, under way, and what came of it.

    No record: it says how far the work is. `beat_at` is moved on while the work is alive, so
    that a process that died shows.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        MAKING = "making", "Being made"
        DONE = "done", "Made"
        FAILED = "failed", "Not made"

    UNDER_WAY = (State.WAITING, State.MAKING)
    BEATS_EVERY = timedelta(seconds=2)
    # The database lets a writer wait for 20 s: a late beat is no dead process.
    DEAD_AFTER = timedelta(seconds=60)

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="pack_works")
    first = models.DateField("from")
    last = models.DateField("to")
    sections = models.JSONField()
    paper = models.CharField(max_length=6, choices=PaperSize)
    ordered_by = models.CharField(max_length=150)
    ordered_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    beat_at = models.DateTimeField()
    part = models.CharField("what is being written", max_length=80, blank=True)
    parts_done = models.PositiveSmallIntegerField(default=0)
    parts = models.PositiveSmallIntegerField(default=0)
    trouble = models.CharField("why it was not made", max_length=300, blank=True)
    pack = models.OneToOneField(
        InspectionPack, models.PROTECT, null=True, blank=True, related_name="work"
    )

    class Meta:
        ordering = ("-ordered_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("venue",),
                condition=Q(state__in=("waiting", "making")),
                name="one_pack_at_a_time_per_venue",
                violation_error_message="A pack is being made already: wait for it.",
            ),
            models.CheckConstraint(
                condition=Q(state="done", pack__isnull=False) | (~Q(state="done") & Q(pack=None)),
                name="pack_work_done_has_its_pack",
            ),
        )

    def __str__(self) -> str:
        return f"making of a pack {self.first} to {self.last}"

    def get_absolute_url(self) -> str:
        return reverse("pack-work", args=[self.pk])

    @property
    def is_under_way(self) -> bool:
        return self.state in self.UNDER_WAY
