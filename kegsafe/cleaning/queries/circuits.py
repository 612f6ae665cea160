"""A circuit as its recording page shows it, by a fixed number of queries."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Max, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from kegsafe.cleaning.models import ChemicalBatch, Cycle, CycleStep, LineEvent
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.readings_document import reading_from
from kegsafe.rules.cleaning.chemicals import HOT_WATER
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.cleaning.vocabulary import Chemistry
from kegsafe.venues.models import Venue

_SAME_WATER = timedelta(hours=24)
_SUITS = {
    Chemistry.DETERGENT: (Chemistry.DETERGENT, Chemistry.ALKALINE),
}


def circuit_cycles(venue: Venue, circuit: UUID) -> list[Cycle]:
    """Return the cycles of a circuit with their steps, by two queries."""
    cycles = Cycle.objects.filter(venue=venue, circuit=circuit).select_related(
        "plan", "venue", *SORTS
    )
    return list(with_steps(cycles).order_by("pk"))


def with_steps(cycles: QuerySet[Cycle]) -> QuerySet[Cycle]:
    """Return cycles with their steps, chemicals and batches fetched."""
    return cycles.prefetch_related("steps__chemical__chemical")


def seen_of(line_ids: Iterable[int]) -> dict[int, int]:
    """Return the newest event of each line: what a page that is shown now has seen."""
    newest = LineEvent.objects.filter(line_id__in=list(line_ids)).order_by("line_id")
    return dict(newest.values_list("line_id").annotate(newest=Max("sequence")))


def batches_for(venue: Venue, step: PlanStep) -> list[ChemicalBatch]:
    """Return the batches in the cupboard for a step, the one used last for such a step first."""
    if step.chemistry is None:
        return []
    chemistries = _SUITS.get(step.chemistry, (step.chemistry,))
    used = CycleStep.objects.filter(chemical=OuterRef("pk")).order_by("-pk")
    return list(
        ChemicalBatch.objects.filter(
            chemical__venue=venue,
            chemical__is_listed=True,
            chemical__chemistry__in=chemistries,
            is_finished=False,
        )
        .select_related("chemical")
        .annotate(used_last=Coalesce(Subquery(used.values("pk")[:1]), 0))
        .order_by("-used_last", "-pk")
    )


def takes_hot_water(step: PlanStep) -> bool:
    """Whether hot water may stand in the place of the chemical."""
    return step.chemistry is HOT_WATER.chemistry


def tap_water_lately(venue: Venue, now: datetime) -> CycleStep | None:
    """Return the step with the tap water's own pH that was read last, within a day."""
    return (
        CycleStep.objects.filter(
            cycle__venue=venue, ended_at__gte=now - _SAME_WATER, tap_water_ph__isnull=False
        )
        .order_by("-ended_at")
        .first()
    )


def tap_water_reading(step: CycleStep | None) -> Reading | None:
    """Return the reading of such a step."""
    return None if step is None else reading_from(step.tap_water_ph)
