"""What people of the scenario do to look at their own records."""

from collections.abc import Callable, Mapping
from datetime import datetime

from kegsafe.demo.desk import Desk
from kegsafe.ledger.services import Recorder
from kegsafe.readiness import services as readiness


def self_check(desk: Desk, at: datetime, by: Recorder) -> None:
    """Keep what an inspector would have found at that moment."""
    readiness.record_self_check(venue=desk.venue, at=at, by=by)


def verify_ledger(desk: Desk, at: datetime, by: Recorder) -> None:
    """Walk the chain of records."""
    readiness.walk_chain(venue=desk.venue, at=at, by=by)


READINESS: Mapping[str, Callable[..., None]] = {
    "self-check": self_check,
    "verify ledger": verify_ledger,
}
