"""The venue's cleaning plans: one row for each version, so that no old cycle is judged anew."""

import uuid

from django.db import models
from django.db.models import Q
from django.utils.functional import cached_property

from kegsafe.cleaning.plan_document import plan_from
from kegsafe.ledger.models import Recorded
from kegsafe.rules.cleaning.plans import Plan
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment


class CleaningPlan(Recorded):
    """One version of one plan. Cycles point at a version; a change makes the next one.

    The steps, bounds and intervals stand in `document`, each with its citation: a plan is read
    and judged as a whole. `family` is the same for every version of a plan.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="cleaning_plans")
    family = models.UUIDField(default=uuid.uuid4, editable=False)
    version = models.PositiveIntegerField(default=1)
    starter_key = models.CharField(max_length=40)
    name = models.CharField(max_length=120)
    equipment = models.CharField(max_length=16, choices=[(kind, kind) for kind in Equipment])
    is_allergen_clean = models.BooleanField(default=False)
    document = models.JSONField()
    valid_from = models.DateField()
    replaced_on = models.DateField(null=True, blank=True)
    recorded_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("name", "-version")
        constraints = (
            models.UniqueConstraint(
                fields=("family", "version"), name="cleaning_plan_version_once"
            ),
            models.UniqueConstraint(
                fields=("family",),
                condition=Q(replaced_on=None),
                name="cleaning_plan_has_one_version_in_force",
            ),
        )

    def __str__(self) -> str:
        return f"{self.name} (version {self.version})"

    def as_rules(self) -> Plan:
        """Return the plan as the rules read it."""
        return self._rules

    @cached_property
    def _rules(self) -> Plan:
        """A version is never changed, so it is read once for all the cycles that ask."""
        return plan_from(self.document)

    def suits(self, equipment: Equipment, drink: DrinkKind) -> bool:
        """Whether it is for such equipment; a piece whose drink nobody named takes every plan."""
        if drink is DrinkKind.ANY:
            return self.equipment == equipment
        return self.as_rules().suits(equipment, drink)
