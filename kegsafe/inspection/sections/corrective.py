"""What was found wrong in the period and what was done, from every room, in order of time."""

import heapq
from collections.abc import Iterator
from datetime import datetime

from django.db.models import Q, QuerySet

from kegsafe.batches.models import Fill
from kegsafe.cleaning.models import CorrectiveAction as CleaningAction
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cold_chain.models import CorrectiveAction as ColdAction
from kegsafe.inspection.blocks import Block, Bold, Column, Figure, Row, Rows, Scope, Section, Words
from kegsafe.stock.models import Lot

_COLUMNS = (
    Column("When", 31),
    Column("About", 36),
    Column("Found, and why", 46),
    Column("Done", 50),
    Column("By", 18),
    Column("Checked by", 18),
)
_AT_ONCE = 500


def _blocks(scope: Scope) -> Iterator[Block]:
    yield Words(
        (
            "Corrective actions on cleaning and on temperatures, and drinks that were held or "
            "discarded, in the order of time.",
        )
    )
    none = "No corrective action is on record in this period."
    rows = (row for _, _, row in heapq.merge(*_sources(scope)))
    yield Rows("corrective-actions", _COLUMNS, rows, none)


_Dated = tuple[datetime, str, Row]


def _sources(scope: Scope) -> tuple[Iterator[_Dated], ...]:
    return (_on_cleaning(scope), _on_cold(scope), _on_fills(scope))


def _in_period(scope: Scope, field: str) -> Q:
    return Q(**{f"{field}__gte": scope.from_at, f"{field}__lt": scope.until_at})


def _cleaning_actions(scope: Scope) -> QuerySet[CleaningAction]:
    of_venue = CleaningAction.objects.filter(cycle__venue=scope.venue)
    return of_venue.filter(_in_period(scope, "acted_at"))


def _cold_actions(scope: Scope) -> QuerySet[ColdAction]:
    of_venue = ColdAction.objects.filter(place__venue=scope.venue)
    return of_venue.filter(_in_period(scope, "taken_at"))


def _stopped_fills(scope: Scope) -> QuerySet[Fill]:
    states = (Fill.State.ON_HOLD, Fill.State.DISCARDED)
    of_venue = Fill.objects.filter(batch__venue=scope.venue, state__in=states)
    return of_venue.filter(_in_period(scope, "state_at"))


def _on_cleaning(scope: Scope) -> Iterator[_Dated]:
    found = _cleaning_actions(scope).select_related(*(f"cycle__{sort}" for sort in SORTS))
    for act in found.order_by("acted_at", "pk").iterator(chunk_size=_AT_ONCE):
        row = Row(
            (
                scope.short(act.acted_at),
                f"Cycle {act.cycle_id}, {act.cycle.piece}",
                f"{act.found} Cause: {act.cause}",
                f"{act.done} Drinks: {act.product_affected}",
                act.recorded_by,
                act.verified_by or Bold("nobody yet"),
            ),
            subjects=(act.ledger_subject,),
        )
        yield act.acted_at, act.ledger_subject, row


def _on_cold(scope: Scope) -> Iterator[_Dated]:
    found = _cold_actions(scope).select_related("place").order_by("taken_at", "pk")
    for act in found.iterator(chunk_size=_AT_ONCE):
        about = f"{act.place}, above its limit"
        cells = (scope.short(act.taken_at), about, "Read too warm", act.what, act.taken_by, "")
        row = Row(cells, subjects=(act.ledger_subject,))
        yield act.taken_at, act.ledger_subject, row


def _on_fills(scope: Scope) -> Iterator[_Dated]:
    found = _stopped_fills(scope).select_related("batch__recipe", "keg").order_by("state_at", "pk")
    for fill in found.iterator(chunk_size=_AT_ONCE):
        row = Row(
            (
                scope.short(fill.state_at),
                f"Fill {fill.pk}, {fill.batch.recipe.name} in {fill.keg}",
                fill.state_reason,
                "Put on hold" if fill.state == Fill.State.ON_HOLD else "Discarded",
                fill.state_by,
                "",
            ),
            subjects=(fill.ledger_subject,),
        )
        yield fill.state_at, fill.ledger_subject, row


def _figures(scope: Scope) -> Iterator[Figure]:
    cleaning = _cleaning_actions(scope)
    yield Figure("Corrective actions on cleaning", str(cleaning.count()))
    unchecked = cleaning.filter(verified_by="").count()
    yield Figure("Of these checked by nobody yet", str(unchecked), asks=unchecked > 0)
    yield Figure("Corrective actions on temperatures", str(_cold_actions(scope).count()))
    yield Figure("Drinks held or discarded", str(_stopped_fills(scope).count()))
    held = Lot.objects.filter(venue=scope.venue, status=Lot.Status.ON_HOLD).count()
    yield Figure("Lots on hold now", str(held), asks=held > 0)


SECTION = Section("corrective", "Corrective actions", _blocks, _figures)
