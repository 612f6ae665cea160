"""The gaps an inspector would find in a venue's records, in a fixed number of queries."""

from datetime import datetime

from kegsafe.readiness.facts import Records
from kegsafe.rules.readiness import Gap, gaps_in
from kegsafe.venues.models import Venue


def gaps(venue: Venue, now: datetime) -> tuple[Gap, ...]:
    """Return what an inspector would find in the records of a venue, the gravest first.

    `now` must be aware. The number of queries is fixed, and none of them grows with the log.
    """
    return gaps_in(Records(venue, now).facts, now)
