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
from kegsafe.cold_chain.queries.histories import DrinkInKeg, histories_of
from kegsafe.cold_chain.queries.place_log import PlaceLog, Wanted, place_logs

__all__ = [
    "COLD_KINDS",
    "COLD_RULE",
    "ColdLimits",
    "DrinkInKeg",
    "PlaceLog",
    "Wanted",
    "cold_limits",
    "cold_places",
    "histories_of",
    "place_logs",
    "places_read",
    "readings",
]
