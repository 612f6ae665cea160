"""Is a clean of this keg or its line overdue? As columns of the pour check's own query.

The same rule as the list of what is due (`due_of`), told by five columns instead of eleven
queries, for equipment that holds a drink: what a plan asks for at an event alone is due when the
drink is out. What the law of the venue's region asks for by the clock is due all the same.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from operator import itemgetter
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import CharField, F, OuterRef, Subquery, Value
from django.db.models.functions import Cast, Concat

from kegsafe.cleaning.models import CleaningPlan, DrinkCarried, LatestCycles
from kegsafe.cleaning.plan_document import plan_from
from kegsafe.frame.rows_as_json import RowsAsJson, stored_moment
from kegsafe.rules.cleaning.cycle import CycleResult
from kegsafe.rules.cleaning.due import (
    BY_THE_CLOCK,
    CycleHistory,
    Due,
    DueStatus,
    ItemFacts,
    due,
    plans_with_laws,
)
from kegsafe.rules.cleaning.intervals import Interval
from kegsafe.rules.cleaning.plans import Plan
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment
from kegsafe.rules.findings import Finding, Severity
from kegsafe.venues.models import Venue

CLEANING_COLUMNS = (
    "cleaning_plans",
    "cleaning_cycles",
    "cleaning_region",
    "keg_drink_kind",
    "line_drink_kind",
)

_PIECES = {Equipment.KEG: "keg", Equipment.LINE: "line"}
_RESULTS = {result.value: result for result in CycleResult}


def cleaning_columns(*, keg: str, line: str, venue: str) -> dict[str, Subquery]:
    """Return CLEANING_COLUMNS; `keg`, `line` and `venue` lead to their keys from the query."""
    plans = CleaningPlan.objects.filter(
        venue=OuterRef(venue), replaced_on=None, equipment__in=list(_PIECES)
    )
    cycles = LatestCycles.objects.filter(
        venue=OuterRef(venue), piece_key__in=[_key("keg", keg), _key("line", line)]
    )
    return {
        "cleaning_plans": _rows(
            plans,
            "family",
            "name",
            "equipment",
            F("document__drinks"),
            F("document__intervals"),
            F("document__citation"),
        ),
        "cleaning_cycles": _rows(
            cycles, "piece_key", "family", "last_good__ended_at", "last__ended_at", "last__result"
        ),
        "cleaning_region": Subquery(Venue.objects.filter(pk=OuterRef(venue)).values("region")),
        "keg_drink_kind": _drink_kind("keg", keg),
        "line_drink_kind": _drink_kind("line", line),
    }


def overdue(row: Mapping[str, Any], now: datetime, zone: ZoneInfo) -> Iterator[Finding]:
    """Yield what the pour check asks about a keg and the line it is on.

    row : CLEANING_COLUMNS, `pk` and `name` of the keg, `line_id` and `line_name` of the line
    """
    histories = {
        (key, UUID(family)): _history(*told) for key, family, *told in row["cleaning_cycles"] or ()
    }
    plans = {
        UUID(family): _plan(name, *document)
        for family, name, *document in sorted(row["cleaning_plans"] or (), key=itemgetter(1))
    }
    keys = {Equipment.KEG: row["pk"], Equipment.LINE: row["line_id"]}
    names = {Equipment.KEG: f"Keg {row['name']}", Equipment.LINE: f"Line {row['line_name']}"}
    for equipment, piece in _PIECES.items():
        if keys[equipment] is None:
            continue
        item = ItemFacts(name=names[equipment], equipment=equipment, holds_a_drink=True)
        carries = DrinkKind(row[f"{piece}_drink_kind"] or DrinkKind.ANY)
        held = plans_with_laws(plans, equipment, carries, row["cleaning_region"])
        for family, plan, laws in held:
            if _is_owed_by_the_clock((*plan.intervals, *laws)):
                history = histories.get((f"{piece}-{keys[equipment]}", family), _NEVER)
                when = due(item, plan, history, now, zone, laws)
                yield from _overdue(item, plan, when)


def _overdue(item: ItemFacts, plan: Plan, when: Due) -> Iterator[Finding]:
    if when.status is DueStatus.OVERDUE:
        first = when.reasons[0]
        yield Finding(
            "cleaning.overdue",
            Severity.ASK,
            f"The clean of {item.name} is overdue ({plan.name}): {when.reason}",
            first.source,
            first.verified,
        )


_NEVER = CycleHistory(last_good_at=None)


def _is_owed_by_the_clock(intervals: Sequence[Interval]) -> bool:
    return any(interval.unit in BY_THE_CLOCK for interval in intervals)


def _plan(name: str, equipment: str, drinks: Any, intervals: Any, citation: Any) -> Plan:
    """Return a plan without its steps: they do not decide when it is due."""
    return plan_from(
        {
            "key": "",
            "name": name,
            "equipment": equipment,
            "drinks": drinks,
            "steps": (),
            "intervals": intervals,
            "is_allergen_clean": False,
            "needs_second_person": False,
            "citation": citation,
            "note": "",
        }
    )


def _history(good_at: str | None, last_at: str, result: str) -> CycleHistory:
    return CycleHistory(
        last_good_at=None if good_at is None else stored_moment(good_at),
        last_at=stored_moment(last_at),
        # A cycle that was given up was not finished on record either.
        last_result=_RESULTS.get(result, CycleResult.INCOMPLETE),
    )


def _key(piece: str, pk: str) -> Concat:
    return Concat(Value(f"{piece}-"), Cast(OuterRef(pk), CharField()))


def _rows(rows: Any, *columns: Any) -> Subquery:
    gathered = rows.order_by().values("venue").annotate(rows=RowsAsJson(*columns))
    return Subquery(gathered.values("rows"))


def _drink_kind(piece: str, pk: str) -> Subquery:
    """The kind of drink that was said last of a piece."""
    said = DrinkCarried.objects.filter(**{piece: OuterRef(pk)}).order_by("-pk")
    return Subquery(said.values("drink_kind")[:1])
