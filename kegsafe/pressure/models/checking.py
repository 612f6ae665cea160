"""What was looked at on the equipment, and the intervals somebody set for one piece of it."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from kegsafe.ledger.models import Recorded
from kegsafe.rules.pressure import due

_ONE_ITEM = Q(keg=None, item__isnull=False) | Q(keg__isnull=False, item=None)


class Check(Recorded):
    """One check of one item or one keg, by the points of its kind. Never changed: made again."""

    class Outcome(models.TextChoices):
        PASS = "pass", "Passed"
        FAIL = "fail", "Failed"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="pressure_checks")
    item = models.ForeignKey(
        "pressure.Item", models.PROTECT, null=True, blank=True, related_name="checks"
    )
    keg = models.ForeignKey(
        "equipment.Keg", models.PROTECT, null=True, blank=True, related_name="pressure_checks"
    )
    check_key = models.CharField("check", max_length=20)
    label = models.CharField(max_length=80)
    outcome = models.CharField(max_length=4, choices=Outcome)
    points = models.JSONField(default=list)
    comment = models.CharField(max_length=400, blank=True)
    checked_at = models.DateTimeField()
    recorded_by = models.CharField(max_length=150)
    competent_person = models.CharField(max_length=120, blank=True)
    report = models.CharField("report number", max_length=120, blank=True)

    class Meta:
        verbose_name = "pressure equipment check"
        ordering = ("-checked_at", "-pk")
        constraints = (
            models.CheckConstraint(condition=_ONE_ITEM, name="pressure_check_is_of_one_item"),
        )
        indexes = (
            models.Index(fields=("item", "check_key", "checked_at"), name="pressure_check_of_item"),
            models.Index(fields=("keg", "check_key", "checked_at"), name="pressure_check_of_keg"),
            models.Index(fields=("venue", "-checked_at"), name="pressure_check_newest"),
        )

    def __str__(self) -> str:
        return f"{self.label}: {self.item or self.keg}"

    def get_absolute_url(self) -> str:
        return reverse("pressure-check", args=[self.pk])


class OwnInterval(Recorded):
    """How often one check of one item or keg comes round, on the maker's or the owner's word."""

    class Basis(models.TextChoices):
        MAKER = due.Basis.MAKER.value, "The maker's instructions"
        SCHEME = due.Basis.SCHEME.value, "The written scheme of examination"
        OWNER = due.Basis.OWNER.value, "The owner's own figure"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="pressure_intervals")
    item = models.ForeignKey(
        "pressure.Item", models.PROTECT, null=True, blank=True, related_name="intervals"
    )
    keg = models.ForeignKey(
        "equipment.Keg", models.PROTECT, null=True, blank=True, related_name="pressure_intervals"
    )
    check_key = models.CharField("check", max_length=20)
    months = models.PositiveSmallIntegerField("months")
    basis = models.CharField("on whose word", max_length=8, choices=Basis)
    reference = models.CharField("document", max_length=120, blank=True)

    class Meta:
        verbose_name = "interval of a check"
        constraints = (
            models.CheckConstraint(condition=_ONE_ITEM, name="own_interval_is_of_one_item"),
            models.CheckConstraint(
                condition=Q(months__gte=1, months__lte=240),
                name="own_interval_is_one_to_240_months",
                violation_error_message="Give 1 to 240 months: 24, for example.",
            ),
            models.UniqueConstraint(
                fields=("item", "check_key"), name="one_interval_per_item_check"
            ),
            models.UniqueConstraint(fields=("keg", "check_key"), name="one_interval_per_keg_check"),
        )

    def __str__(self) -> str:
        return f"{self.item or self.keg}: every {self.months} months"
