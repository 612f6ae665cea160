"""Plain dated records of cleaning: what was cleaned, how, when, by whom, how it was checked."""

from django.db import models
from django.db.models import Q

from kegsafe.ledger.models import Recorded


class CleaningRecord(Recorded):
    """One clean of one keg or one line."""

    class Verification(models.TextChoices):
        NONE = "none", "Not verified"
        VISUAL = "visual", "Looked at: visibly clean"
        PROTEIN_SWAB = "protein_swab", "Protein swab: passed"
        LAST_RINSE_TEST = "last_rinse_test", "Allergen test of the last rinse: passed"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="cleaning_records")
    keg = models.ForeignKey(
        "equipment.Keg", models.PROTECT, null=True, blank=True, related_name="cleaning_records"
    )
    line = models.ForeignKey(
        "equipment.Line", models.PROTECT, null=True, blank=True, related_name="cleaning_records"
    )
    cleaned_at = models.DateTimeField()
    method = models.CharField(
        max_length=200, help_text="Steps, chemical and strength, contact time: as it was done."
    )
    sanitised = models.BooleanField(default=False)
    is_allergen_clean = models.BooleanField(
        "this was an allergen clean",
        default=False,
        help_text="Done by the venue's procedure for removing allergens, not only a sanitise.",
    )
    verification = models.CharField(max_length=20, choices=Verification, default=Verification.NONE)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-cleaned_at",)
        constraints = (
            models.CheckConstraint(
                name="cleaning_record_is_for_one_item",
                condition=Q(keg=None, line__isnull=False) | Q(keg__isnull=False, line=None),
                violation_error_message="Choose one keg or one line; log the other separately.",
            ),
        )
        indexes = (
            models.Index(fields=("keg", "-cleaned_at"), name="cleaning_of_keg_newest_first"),
            models.Index(fields=("line", "-cleaned_at"), name="cleaning_of_line_newest_first"),
            models.Index(fields=("venue", "-cleaned_at"), name="cleaning_newest_first"),
        )

    def __str__(self) -> str:
        return f"{self.keg or self.line} cleaned {self.cleaned_at:%Y-%m-%d %H:%M}"

    @property
    def removes_allergens(self) -> bool:
        """Whether this record ends the memory of the last drink's allergens.

        Cleaned is not enough: Regulation (EC) 852/2004 as amended by (EU)
        2021/382 asks that equipment is cleaned and checked. [second-hand]
        """
        return self.is_allergen_clean and self.verification != self.Verification.NONE
