"""A recall, what it is about piece by piece, and who does what."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from kegsafe.ledger.models import Recorded
from kegsafe.quantities import Kind
from kegsafe.rules.recall import RECOVERABLE, Outcome, Piece, Reach
from kegsafe.stock.services.drawing import KIND_OF


class Recall(Recorded):
    """Fetching back all that certain lots went into, or the drill of it, which holds nothing."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="recalls")
    number = models.PositiveIntegerField()
    is_drill = models.BooleanField(default=False)
    reason = models.CharField(max_length=150)
    notice = models.CharField("supplier's notice", max_length=160, blank=True)
    lots = models.JSONField("lots it started from", help_text="Their keys.")
    began_at = models.DateTimeField()
    began_by = models.CharField(max_length=150)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.CharField(max_length=150, blank=True)
    closing_note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ("-began_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("venue", "number"), name="recall_number_once_per_venue"
            ),
            models.CheckConstraint(
                condition=Q(closed_at=None, closed_by="", closing_note="")
                | (Q(closed_at__isnull=False) & ~Q(closed_by="") & ~Q(closing_note="")),
                name="recall_is_closed_by_somebody_with_a_note",
            ),
        )

    def __str__(self) -> str:
        return f"{'Drill' if self.is_drill else 'Recall'} {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("recall", args=[self.pk])

    @property
    def is_open(self) -> bool:
        return self.closed_at is None


class RecallItem(Recorded):
    """One lot or one fill that the lots went into, and what looking for it came to.

    `amount` is in ml, g or pieces as `measure` says: what was left of a lot, and what was filled
    into a keg, when the recall began. `was_held` says that the recall put it on hold.
    """

    class ReachOf(models.TextChoices):
        IN_STOCK = Reach.IN_STOCK.value, "In stock"
        IN_KEG = Reach.IN_KEG.value, "In a keg"
        SERVED = Reach.SERVED.value, "Poured out before"
        DISCARDED = Reach.DISCARDED.value, "Discarded before"

    class OutcomeOf(models.TextChoices):
        WAITING = Outcome.WAITING.value, "To look for"
        FOUND = Outcome.FOUND.value, "Found"
        NOT_FOUND = Outcome.NOT_FOUND.value, "Not found"
        GONE = Outcome.GONE.value, "Gone before"

    class Disposition(models.TextChoices):
        KEPT = "kept", "Kept apart on hold"
        DISCARDED = "discarded", "Discarded"
        RETURNED = "returned", "Returned to the supplier"

    recall = models.ForeignKey(Recall, models.PROTECT, related_name="items")
    lot = models.ForeignKey(
        "stock.Lot", models.PROTECT, null=True, blank=True, related_name="recall_items"
    )
    fill = models.ForeignKey(
        "batches.Fill", models.PROTECT, null=True, blank=True, related_name="recall_items"
    )
    reach = models.CharField(max_length=10, choices=ReachOf)
    measure = models.CharField(max_length=4)
    amount = models.DecimalField(max_digits=12, decimal_places=3)
    was_held = models.BooleanField(default=False)
    outcome = models.CharField(max_length=10, choices=OutcomeOf)
    amount_found = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    disposition = models.CharField(max_length=10, choices=Disposition, blank=True)
    note = models.CharField(max_length=200, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.CharField(max_length=150, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(
                condition=Q(lot__isnull=False, fill=None) | Q(lot=None, fill__isnull=False),
                name="recall_item_is_a_lot_or_a_fill",
            ),
            models.UniqueConstraint(fields=("recall", "lot"), name="recall_names_a_lot_once"),
            models.UniqueConstraint(fields=("recall", "fill"), name="recall_names_a_fill_once"),
            models.CheckConstraint(
                condition=~Q(outcome="found") | Q(amount_found__gte=0),
                name="recall_item_found_has_an_amount",
            ),
            models.CheckConstraint(
                condition=Q(amount_found=None) | Q(amount_found__lte=models.F("amount")),
                name="recall_item_found_is_at_most_what_was_there",
            ),
        )

    def __str__(self) -> str:
        return str(self.lot) if self.lot_id else f"{self.fill.keg}: {self.fill.batch}"

    @property
    def is_recoverable(self) -> bool:
        return Reach(self.reach) in RECOVERABLE

    @property
    def kind(self) -> Kind:
        """Return what its amounts are quantities of."""
        return KIND_OF[self.measure]

    def as_piece(self) -> Piece:
        """Return it as the rules see it. Its lot or its fill with keg and batch is fetched."""
        return Piece(
            name=str(self),
            measure=self.measure,
            amount=self.amount,
            reach=Reach(self.reach),
            outcome=Outcome(self.outcome),
            found=self.amount_found,
            settled_at=self.settled_at,
        )


class RecallTask(Recorded):
    """Something to do, by whom and until when, and when it was done."""

    recall = models.ForeignKey(Recall, models.PROTECT, related_name="tasks")
    what = models.CharField(max_length=250)
    source = models.CharField(max_length=200, blank=True, help_text="Whose word the task is.")
    person = models.CharField(max_length=80, blank=True)
    due_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.CharField(max_length=150, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(
                condition=Q(done_at=None, done_by="") | (Q(done_at__isnull=False) & ~Q(done_by="")),
                name="recall_task_is_done_by_somebody",
            ),
        )

    def __str__(self) -> str:
        return self.what
