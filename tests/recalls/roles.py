"""Who may do what in the recalls room, and a record of each kind its addresses ask for."""

from kegsafe.recalls import services
from kegsafe.recalls.models import Recall, RecallItem, RecallTask
from kegsafe.stock.models import Lot
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS
from kegsafe.venues.models import Role, Venue
from tests.builders import a_recorder

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
RECALLS: dict[str, tuple[frozenset[Role], frozenset[Role]]] = {
    "recalls": (EVERYBODY, NOBODY),
    "recall-begin": (MANAGERS, MANAGERS),
    "recall": (EVERYBODY, NOBODY),
    "recall-again": (NOBODY, MANAGERS),
    "recall-task-add": (RECORDERS, RECORDERS),
    "recall-letter": (EVERYBODY, NOBODY),
    "recall-close": (MANAGERS, MANAGERS),
    "recall-item": (RECORDERS, RECORDERS),
    "recall-task": (RECORDERS, RECORDERS),
}
RECALLS_KINDS: tuple[str, ...] = ("recall", "recall-item", "recall-task")


def recalls_records(venue: Venue) -> dict[str, object]:
    """Begin a drill from a lot that is in use, and return one record of each kind."""
    lot = Lot.objects.filter(venue=venue, status=Lot.Status.ACCEPTED, amount_left__gt=0).first()
    services.begin_recall(
        venue=venue, lots=[lot], reason="A drill", is_drill=True, by=a_recorder(venue)
    )
    return {
        "recall": Recall.objects.filter(venue=venue).first(),
        "recall-item": RecallItem.objects.filter(recall__venue=venue).first(),
        "recall-task": RecallTask.objects.filter(recall__venue=venue).first(),
    }
