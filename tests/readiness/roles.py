"""Who may do what in readiness, and a record of each kind its addresses ask for."""

from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY
from kegsafe.venues.models import Role, Venue

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
READINESS: dict[str, tuple[frozenset[Role], frozenset[Role]]] = {
    "readiness": (EVERYBODY, NOBODY),
    "self-check": (EVERYBODY, MANAGERS),
    "chain-walk": (EVERYBODY, MANAGERS),
}
READINESS_KINDS: tuple[str, ...] = ()


def readiness_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    return {}
