"""Who may do what in exports, and a record of each kind its addresses ask for."""

from kegsafe.venues.access import EVERYBODY, NOBODY, OWNERS
from kegsafe.venues.models import Role, Venue

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
EXPORTS: dict[str, tuple[frozenset[Role], frozenset[Role]]] = {
    "exports": (EVERYBODY, NOBODY),
    "export-log": (EVERYBODY, NOBODY),  # the log of people: managers only, see test_logs.py
    "move-house": (OWNERS, NOBODY),
    "move-house-file": (OWNERS, NOBODY),
}
EXPORTS_KINDS: tuple[str, ...] = ()


def exports_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    return {}
