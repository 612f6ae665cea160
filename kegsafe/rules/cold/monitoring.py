"""How long a temperature reading speaks for its place. One rule, wherever time may be unknown.

Two readings may stand so far apart, and the last one may lie so far back, as the code on file
or the venue's own plan says. A place that is meant to be read more often is held to twice its own
interval. Nothing makes it longer but a plan the authority has approved.
"""

from datetime import date

from kegsafe.rules.cold.tables import figure
from kegsafe.rules.facts import House
from kegsafe.rules.limits import EffectiveLimit, effective_limit

READING_LASTS = "cold_holding.reading_lasts"
_HOUR_S = 3600


def reading_lasts(house: House, on: date) -> EffectiveLimit:
    """Return the hours a reading speaks for; MissingRule for a code that has no row."""
    return effective_limit(house.code, READING_LASTS, on, house.local_limits)


def longest_gap_s(interval_s: int | None, house: House, on: date) -> int:
    """Return how far two readings may stand apart before the time between is not known.

    interval_s : seconds in which the place is meant to be read, 1 or more; None: not said
    on : the day whose rules judge

    Source: `cold_holding.reading_lasts` of the code or the venue; the factor for an interval is
    a house value of shared/cold/practice.csv.
    """
    most = int(reading_lasts(house, on).value * _HOUR_S)
    if interval_s is None:
        return most
    if interval_s < 1:
        raise ValueError(f"interval_s must be 1 or more, got {interval_s}.")
    return min(most, int(interval_s * figure("readings.gap_factor").value))
