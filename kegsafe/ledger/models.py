"""The append-only chain: one entry for every state change, each bound to the one before."""

from typing import Any

from django.db import models
from django.db.models import Q

GENESIS = "0" * 64


class Chain(models.Model):
    """The head of one venue's chain: the row a writer locks, the hash a report prints.

    The head repeats what the last entry says. It is kept so that two writers
    queue for one row instead of forking the chain, and so that a removed tail
    shows.
    """

    key = models.CharField(max_length=36, primary_key=True)
    head_sequence = models.PositiveBigIntegerField(default=0)
    head_hash = models.CharField(max_length=64, default=GENESIS)

    def __str__(self) -> str:
        return f"chain {self.key} at entry {self.head_sequence}"


class Entry(models.Model):
    """One thing that happened: who, when, to what, and what was recorded.

    `record` is the canonical JSON of the subject after the change; `detail`
    holds what else was said: the reason, and for an amendment the first and the
    new values. Time is whole microseconds since 1970-01-01 UTC, so that the
    hashed bytes are the same on every database.
    """

    chain = models.ForeignKey(Chain, models.PROTECT, related_name="entries")
    sequence = models.PositiveBigIntegerField()
    recorded_at_us = models.BigIntegerField()
    person = models.CharField(max_length=150)
    action = models.CharField(max_length=80)
    subject = models.CharField(max_length=120)
    record = models.TextField()
    detail = models.TextField()
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ("chain", "sequence")
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "chain",
                    "sequence",
                ),
                name="entry_has_one_place_in_its_chain",
            ),
            models.UniqueConstraint(
                fields=(
                    "chain",
                    "previous_hash",
                ),
                name="entry_chain_never_forks",
            ),
            models.CheckConstraint(condition=Q(sequence__gte=1), name="entry_sequence_from_one"),
        )
        indexes = (
            models.Index(
                fields=(
                    "subject",
                    "sequence",
                ),
                name="entry_by_subject",
            ),
        )

    def __str__(self) -> str:
        return f"{self.sequence}: {self.person} {self.action} {self.subject}"


class SentForm(models.Model):
    """A form that was recorded: sent a second time it is refused. Kept for two days."""

    key = models.CharField(max_length=64, primary_key=True)
    recorded_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"form {self.key[:8]}"


class Recorded(models.Model):
    """Base of every model whose state the ledger proves.

    A subclass is changed by services only. Each change writes an entry holding
    all its concrete fields, so that `verify_ledger` can tell a row that was
    changed behind the services' back.
    """

    class Meta:
        abstract = True

    @property
    def ledger_subject(self) -> str:
        """Return how entries name this record, for example `stock.lot:12`."""
        return f"{self._meta.label_lower}:{self.pk}"

    def ledger_values(self) -> dict[str, Any]:
        """Return the concrete field values by column name, as the ledger records them."""
        return {field.attname: getattr(self, field.attname) for field in self._meta.concrete_fields}
