"""What the cold room is asked, in few queries."""

from kegsafe.cold_chain.queries.hand_readings import (
    COLD_KINDS,
    COLD_RULE,
    ColdLimits,
    cold_limits,
    cold_places,
    places_read,
    readings,
)

__all__ = [
    "COLD_KINDS",
    "COLD_RULE",
    "ColdLimits",
    "cold_limits",
    "cold_places",
    "places_read",
    "readings",
]
