"""May anything be poured from these lines? From the events of their cleaning, in one query."""

from collections.abc import Collection

from django.db.models import F, Q, QuerySet

from kegsafe.cleaning.models import LineEvent
from kegsafe.rules.cleaning.line_state import LineState, line_state


def line_states(line_ids: Collection[int]) -> dict[int, LineState]:
    """Return the state of each line, by one query; a line nobody ever cleaned here is ready.

    `LineState.findings(name)` is what the pour check says of every keg on the line.
    """
    events: dict[int, list[LineEvent]] = {line_id: [] for line_id in line_ids}
    for event in unsettled_events(line_ids):
        events[event.line_id].append(event)
    return {
        line_id: line_state(event.as_rules() for event in of_line)
        for line_id, of_line in events.items()
    }


def unsettled_events(line_ids: Collection[int]) -> QuerySet[LineEvent]:
    """Return the events that still say something of these lines, in the order they were stored."""
    return speaking_events().filter(line_id__in=list(line_ids)).order_by("line_id", "sequence")


def speaking_events() -> QuerySet[LineEvent]:
    """Return the events of every line that its last settled cleaning does not cover."""
    settled = F("line__settled_events__sequence")
    return LineEvent.objects.filter(Q(line__settled_events=None) | Q(sequence__gt=settled))
