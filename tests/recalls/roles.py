"""Who may do what in recalls, and a record of each kind its addresses ask for."""

from kegsafe.venues.models import Role, Venue

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
RECALLS: dict[str, tuple[frozenset[Role], frozenset[Role]]] = {}
RECALLS_KINDS: tuple[str, ...] = ()


def recalls_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    return {}
