"""Storing what happens to a line, one event after the other, and settling it once it is ready."""

from datetime import datetime

from kegsafe.cleaning.models import Cycle, LineEvent, SettledEvents
from kegsafe.cleaning.queries.lines import unsettled_events
from kegsafe.equipment.models import Line
from kegsafe.ledger.services import Recorder, create
from kegsafe.rules.cleaning.line_state import LineCondition, LineEventKind, line_state


def store_event(
    *,
    cycle: Cycle,
    kind: LineEventKind,
    at: datetime,
    by: Recorder,
    seen: int | None = None,
    is_verified: bool = False,
) -> None:
    """Store the next event of the line a cycle is on; a cycle on anything else has no line.

    Call it in a transaction, after `take_turn`: the lock on the line comes after the chain's.
    `is_verified` is what `is_rinse_verified` said and nothing else.
    """
    if cycle.line_id is None:
        return
    Line.objects.select_for_update().get(pk=cycle.line_id)
    event = LineEvent(
        line_id=cycle.line_id,
        sequence=last_sequence(cycle.line_id) + 1,
        kind=kind.value,
        at=at,
        cycle=cycle,
        seen=seen,
        is_verified=is_verified,
    )
    create(event, by=by, action=kind.value.replace("_", " "))
    _settle(event)


def last_sequence(line_id: int) -> int:
    """Return the sequence of a line's newest event, 0 when it has none."""
    newest = LineEvent.objects.filter(line_id=line_id).order_by("-sequence")
    return newest.values_list("sequence", flat=True).first() or 0


def _settle(newest: LineEvent) -> None:
    events = [event.as_rules() for event in unsettled_events([newest.line_id])]
    if line_state(events).condition is LineCondition.READY:
        SettledEvents.objects.update_or_create(
            line_id=newest.line_id, defaults={"sequence": newest.sequence}
        )
