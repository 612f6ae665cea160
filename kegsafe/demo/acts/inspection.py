"""What the bars do so that an inspector finds their own words."""

from collections.abc import Callable
from datetime import datetime

from kegsafe.demo.desk import Desk
from kegsafe.inspection import services
from kegsafe.ledger.services import Recorder


def adopt_summary(desk: Desk, at: datetime, by: Recorder) -> None:
    """Make the HACCP summary the bar's own."""
    services.adopt_summary(venue=desk.venue, by=by)


INSPECTION: dict[str, Callable[..., None]] = {"adopt HACCP summary": adopt_summary}
