"""Cycles of cleaning as they are recorded: who, what, under which version of which plan."""

import uuid
from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from kegsafe.cleaning.models.equipment import OfOnePiece, is_of_one
from kegsafe.cleaning.readings_document import reading_from
from kegsafe.ledger.models import Recorded
from kegsafe.rules.cleaning.chemicals import HOT_WATER, ChemicalFacts
from kegsafe.rules.cleaning.records import RecordedStep
from kegsafe.rules.cleaning.vocabulary import Application


class Cycle(OfOnePiece, Recorded):
    """One cycle on one piece of equipment. Those done together share a `circuit`.

    `result` and `verdict` are stored when the cycle is closed and can be worked out again from
    the plan's version, the steps and the code of the day.
    """

    class Result(models.TextChoices):
        COMPLETE = "complete", "Complete"
        INCOMPLETE = "incomplete", "Incomplete"
        FAILED = "failed", "Failed"
        GIVEN_UP = "given_up", "Given up"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="cleaning_cycles")
    circuit = models.UUIDField(default=uuid.uuid4, editable=False)
    plan = models.ForeignKey("cleaning.CleaningPlan", models.PROTECT, related_name="cycles")
    code_key = models.CharField("food code", max_length=40)
    day = models.DateField("day in the venue's zone")
    operator = models.CharField(max_length=150)
    verified_by = models.CharField(max_length=150, blank=True)
    outlets = models.PositiveSmallIntegerField(default=1)
    bore_mm = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    result = models.CharField(max_length=10, choices=Result, blank=True)
    verdict = models.JSONField(default=dict, blank=True)
    given_up_because = models.CharField(max_length=200, blank=True)
    record = models.OneToOneField(
        "cleaning.CleaningRecord", models.PROTECT, null=True, blank=True, related_name="cycle"
    )

    class Meta:
        verbose_name = "cleaning cycle"
        ordering = ("-started_at", "-pk")
        constraints = (
            models.CheckConstraint(name="cleaning_cycle_is_of_one_piece", condition=is_of_one()),
            models.CheckConstraint(
                name="cleaning_cycle_ends_after_it_began",
                condition=Q(ended_at=None) | Q(ended_at__gte=F("started_at")),
            ),
            models.CheckConstraint(
                name="cleaning_cycle_has_a_result_once_ended",
                condition=Q(ended_at=None, result="") | (Q(ended_at__isnull=False) & ~Q(result="")),
            ),
            models.CheckConstraint(
                name="cleaning_cycle_given_up_with_a_reason",
                condition=Q(result="given_up") & ~Q(given_up_because="")
                | ~Q(result="given_up") & Q(given_up_because=""),
            ),
        )
        indexes = (
            models.Index(fields=("venue", "-started_at", "-id"), name="cycle_newest_first"),
            models.Index(fields=("circuit",), name="cycle_by_circuit"),
            models.Index(fields=("line", "-started_at"), name="cycle_of_line_newest_first"),
            models.Index(fields=("keg", "-started_at"), name="cycle_of_keg_newest_first"),
            models.Index(
                fields=("venue",), condition=Q(ended_at=None), name="cycle_still_under_way"
            ),
            models.Index(fields=("venue", "result", "-started_at", "-id"), name="cycle_by_result"),
        )

    def __str__(self) -> str:
        return f"{self.piece} cleaned {self.started_at:%Y-%m-%d %H:%M}"

    def get_absolute_url(self) -> str:
        return reverse("cycle", args=[self.pk])

    @property
    def is_open(self) -> bool:
        return self.ended_at is None


class CycleStep(Recorded):
    """One attempt at one step. It may be ended once; a second try is a second attempt.

    `client_id` is given by the page that began it and `end_id` by the page that ended it, so
    that what is sent twice is stored once. Readings are kept as `readings_document` writes them.
    """

    cycle = models.ForeignKey(Cycle, models.PROTECT, related_name="steps")
    position = models.PositiveSmallIntegerField()
    client_id = models.UUIDField(unique=True)
    end_id = models.UUIDField(unique=True, null=True, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    application = models.CharField(max_length=24, blank=True)
    chemical = models.ForeignKey(
        "cleaning.ChemicalBatch", models.PROTECT, null=True, blank=True, related_name="steps"
    )
    is_hot_water = models.BooleanField(default=False)
    strength = models.JSONField(null=True, blank=True)
    temperature_degc = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    ph = models.JSONField("pH of the solution", null=True, blank=True)
    hardness_mg_per_l = models.DecimalField(max_digits=7, decimal_places=1, null=True, blank=True)
    flow_l_min = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    tap_water_ph = models.JSONField("pH of the tap water", null=True, blank=True)
    outlet_ph = models.JSONField("pH at the outlets", default=list, blank=True)
    passed = models.BooleanField(null=True, blank=True)
    typed = models.JSONField("as it was typed", default=dict, blank=True)
    recorded_by = models.CharField(max_length=150)
    ended_by = models.CharField(max_length=150, blank=True)

    class Meta:
        verbose_name = "step of a cleaning cycle"
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(
                name="cycle_step_has_a_time",
                condition=Q(started_at__isnull=False) | Q(ended_at__isnull=False),
            ),
            models.CheckConstraint(
                name="cycle_step_uses_one_chemical",
                condition=Q(is_hot_water=False) | Q(chemical=None),
            ),
        )
        indexes = (
            models.Index(fields=("cycle", "id"), name="cycle_step_in_order"),
            models.Index(fields=("ended_at",), name="cycle_step_by_its_end"),
        )

    def __str__(self) -> str:
        return f"step {self.position} of {self.cycle}"

    def chemical_facts(self) -> ChemicalFacts | None:
        """Return what was used, as the rules read it; None is not recorded."""
        if self.is_hot_water:
            return HOT_WATER
        return self.chemical.facts() if self.chemical else None

    def as_recorded(self) -> RecordedStep:
        """Return the attempt as the rules read it."""
        return RecordedStep(
            position=self.position,
            started_at=self.started_at,
            ended_at=self.ended_at,
            application=Application(self.application) if self.application else None,
            chemical=self.chemical_facts(),
            strength=reading_from(self.strength),
            temperature_degc=_decimal(self.temperature_degc),
            ph=reading_from(self.ph),
            hardness_mg_per_l=_decimal(self.hardness_mg_per_l),
            flow_l_min=_decimal(self.flow_l_min),
            tap_water_ph=reading_from(self.tap_water_ph),
            outlet_ph=tuple(filter(None, map(reading_from, self.outlet_ph))),
            passed=self.passed,
        )


class LatestCycles(models.Model):
    """The last ended cycle of a piece under a plan, and the last one that counted.

    Repeats what the cycles say, so that the list of what is due reads a few rows and not all
    the history. Written in the transaction that ends a cycle.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="latest_cycles")
    piece_key = models.CharField(max_length=28)
    family = models.UUIDField()
    last = models.ForeignKey(Cycle, models.PROTECT, related_name="+")
    last_good = models.ForeignKey(Cycle, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=("venue", "piece_key", "family"),
                name="latest_cycles_once_per_piece_and_plan",
            ),
        )

    def __str__(self) -> str:
        return f"latest cycles of {self.piece_key}"


def _decimal(value: Decimal | None) -> Decimal | None:
    return None if value is None else Decimal(value)
