"""Who may do what in tracing, and a record of each kind its addresses ask for."""

from kegsafe.batches.models import Fill
from kegsafe.stock.models import Lot
from kegsafe.venues.access import EVERYBODY, NOBODY
from kegsafe.venues.models import Role, Venue

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
# A trace only shows, so nobody sends anything; an inspector may read all of it.
TRACING: dict[str, tuple[frozenset[Role], frozenset[Role]]] = {
    "trace": (EVERYBODY, NOBODY),
    "trace-lot": (EVERYBODY, NOBODY),
    "trace-lot-diagram": (EVERYBODY, NOBODY),
    "trace-lot-spreadsheet": (EVERYBODY, NOBODY),
    "trace-lot-events": (EVERYBODY, NOBODY),
    "trace-fill": (EVERYBODY, NOBODY),
    "trace-fill-diagram": (EVERYBODY, NOBODY),
    "trace-fill-spreadsheet": (EVERYBODY, NOBODY),
    "trace-fill-events": (EVERYBODY, NOBODY),
}
TRACING_KINDS: tuple[str, ...] = ("trace-lot", "trace-fill")


def tracing_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    return {
        "trace-lot": Lot.objects.filter(venue=venue).order_by("pk").first(),
        "trace-fill": Fill.objects.filter(batch__venue=venue).order_by("pk").first(),
    }
