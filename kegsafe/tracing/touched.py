"""What touched a drink besides what it was made of: gas, and what its keg and lines were cleaned
with.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db.models import Model, Prefetch, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce

from kegsafe.cleaning.models import ChemicalBatch, CleaningRecord, Cycle, CycleStep
from kegsafe.equipment.models import Use
from kegsafe.pressure.queries.gas_behind import GasBehind, OnGas, gas_reaching
from kegsafe.tracing.queries import FillReached

CLEANS_SHOWN = 3  # the newest of each piece: a line that never carried a drink has years of them
_BEFORE_ALL = Value(datetime(1970, 1, 1, tzinfo=UTC))


@dataclass(frozen=True, slots=True)
class Clean:
    """One clean of the keg or a line after its last drink and before this one.

    `chemicals` are the batches used, in order; `cycle_id` None: a plain record, whose `method`
    is all that is known of them.
    """

    piece: str
    cleaned_at: datetime
    method: str
    result: str
    chemicals: tuple[ChemicalBatch, ...]
    cycle_id: int | None


@dataclass(frozen=True, slots=True)
class Touched:
    """What touched a drink in a keg. Empty is not recorded, not clean and not gas-free."""

    gas: Sequence[GasBehind]
    cleans: Sequence[Clean]
    uncleaned: Sequence[str]


def touched_by(fill: FillReached) -> Touched:
    """Return the gas and the cleaning behind a fill: seven queries, whatever the log holds."""
    spans = list(_spans(fill))
    cleans = [*_cycles(spans), *_plain_records(spans)]
    cleaned = {each.piece for each in cleans}
    in_keg_until = None if fill.is_open else fill.state_at
    on_gas = OnGas(fill.fill_id, fill.keg_id, fill.filled_at, in_keg_until)
    return Touched(
        gas=gas_reaching([on_gas])[fill.fill_id],
        cleans=sorted(cleans, key=lambda each: each.cleaned_at),
        uncleaned=list(dict.fromkeys(each.name for each in spans if each.name not in cleaned)),
    )


@dataclass(frozen=True, slots=True)
class _Span:
    """A keg or a line up to the moment the drink came into it."""

    sort: str
    key: int
    name: str
    before: datetime

    def newest(self, cleans: QuerySet[Any], moment: str) -> Q:
        """Return the condition to be one of its last cleans, since the drink before if any."""
        uses = Use.objects.filter(**{self.sort: self.key}, began_at__lt=self.before)
        last = uses.order_by("-began_at").values("ended_at")[:1]
        since = Coalesce(Subquery(last), _BEFORE_ALL)
        of_it = cleans.filter(
            **{self.sort: self.key, f"{moment}__lte": self.before, f"{moment}__gte": since}
        )
        return Q(pk__in=of_it.order_by(f"-{moment}", "-pk").values("pk")[:CLEANS_SHOWN])


def _spans(fill: FillReached) -> Iterator[_Span]:
    yield _Span("keg", fill.keg_id, f"Keg {fill.keg}", fill.filled_at)
    for poured in fill.poured:
        yield _Span("line", poured.line_id, f"Line {poured.line}", poured.since)


def _any_of(spans: Iterable[_Span], cleans: QuerySet[Any], moment: str) -> Q:
    wanted = Q()
    for span in spans:
        wanted |= span.newest(cleans, moment)
    return wanted


def _cycles(spans: Sequence[_Span]) -> Iterator[Clean]:
    steps = CycleStep.objects.exclude(chemical=None).select_related("chemical__chemical")
    cycles = (
        Cycle.objects.filter(_any_of(spans, Cycle.objects.all(), "ended_at"))
        .select_related("keg", "line", "plan")
        .prefetch_related(Prefetch("steps", steps.order_by("position", "pk"), to_attr="dosed"))
        .order_by("ended_at", "pk")
    )
    for cycle in cycles:
        yield Clean(
            piece=str(cycle.piece),
            cleaned_at=cycle.ended_at,
            method=str(cycle.plan),
            result=cycle.get_result_display(),
            chemicals=tuple(dict.fromkeys(step.chemical for step in cycle.dosed)),
            cycle_id=cycle.pk,
        )


def _plain_records(spans: Sequence[_Span]) -> Iterator[Clean]:
    # A cycle leaves a record too; it is told once, by the cycle.
    alone = CleaningRecord.objects.filter(cycle=None)
    records = alone.filter(_any_of(spans, alone, "cleaned_at")).select_related("keg", "line")
    for record in records.order_by("cleaned_at", "pk"):
        piece: Model = record.keg or record.line
        result = record.get_verification_display()
        yield Clean(str(piece), record.cleaned_at, record.method, result, (), None)
