"""Who may do what in tracing, and a record of each kind its addresses ask for."""

from kegsafe.venues.models import Role, Venue

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
TRACING: dict[str, tuple[frozenset[Role], frozenset[Role]]] = {}
TRACING_KINDS: tuple[str, ...] = ()


def tracing_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    return {}
