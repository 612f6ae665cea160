"""Temperature loggers, and the files and messages that came from them."""

from typing import Any

from django.db import models
from django.urls import reverse

from kegsafe.ledger.models import Recorded


class Logger(Recorded):
    """A device that reads a place by itself.

    `shape` is how its files were understood the last time. Of the token only a hash is kept:
    it can be compared, not read back.
    """

    place = models.ForeignKey("equipment.Place", models.PROTECT, related_name="loggers")
    name = models.CharField(max_length=60)
    interval_s = models.PositiveIntegerField("seconds between readings", null=True, blank=True)
    shape = models.JSONField(null=True, blank=True, editable=False)
    token_sha256 = models.CharField(max_length=64, blank=True, editable=False, db_index=True)
    token_prefix = models.CharField(max_length=8, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)
    last_seen_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("place", "name"),
                name="logger_name_once_per_place",
                violation_error_message="There is already a logger of this name in this place.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def may_send(self) -> bool:
        return bool(self.token_sha256) and self.revoked_at is None

    def ledger_values(self) -> dict[str, Any]:
        """Leave out when it was last seen: that changes with each message and decides nothing."""
        values = super().ledger_values()
        del values["last_seen_at"]
        return values


class ImportedLog(Recorded):
    """One logger file that was taken in, whole: its one entry in the ledger carries its hash."""

    place = models.ForeignKey("equipment.Place", models.PROTECT, related_name="imported_logs")
    logger = models.ForeignKey(
        Logger, models.PROTECT, null=True, blank=True, related_name="imported_logs"
    )
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=160)
    shape = models.JSONField()
    good = models.PositiveIntegerField("rows read")
    bad = models.PositiveIntegerField("rows that could not be read")
    added = models.PositiveIntegerField("readings added")
    repeated = models.PositiveIntegerField("readings on record already")
    clashed = models.PositiveIntegerField("readings that said another value; the warmer one stays")
    first_s = models.BigIntegerField(null=True)
    last_s = models.BigIntegerField(null=True)
    notices = models.JSONField(default=list, blank=True)
    doubts_accepted = models.JSONField(default=list, blank=True)
    imported_at = models.DateTimeField()
    imported_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-imported_at",)
        constraints = (
            models.UniqueConstraint(
                fields=("place", "sha256"), name="log_is_imported_once_per_place"
            ),
        )

    def __str__(self) -> str:
        return f"{self.name} into {self.place}"

    def get_absolute_url(self) -> str:
        return reverse("cold-log", args=[self.pk])


class ImportedBadRow(models.Model):
    """A row of an imported file that could not be read; the first of them are kept."""

    log = models.ForeignKey(ImportedLog, models.PROTECT, related_name="bad_rows")
    line = models.PositiveBigIntegerField()
    text = models.CharField(max_length=120)
    reason = models.CharField(max_length=300)

    class Meta:
        ordering = ("line",)

    def __str__(self) -> str:
        return f"line {self.line}: {self.reason}"


class LogFile(models.Model):
    """A file that somebody sent to look at; it is gone once it is imported, or after a day."""

    place = models.ForeignKey("equipment.Place", models.PROTECT, related_name="log_files")
    logger = models.ForeignKey(Logger, models.PROTECT, null=True, blank=True, related_name="+")
    name = models.CharField(max_length=160)
    content = models.BinaryField()
    sent_at = models.DateTimeField(auto_now_add=True)
    sent_by = models.CharField(max_length=150)

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("cold-log-file", args=[self.pk])
