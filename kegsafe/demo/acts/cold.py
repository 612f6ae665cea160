"""What people of the scenario do with a thermometer."""

from collections.abc import Callable, Mapping
from datetime import datetime

from kegsafe.cold_chain import services as cold_chain
from kegsafe.demo.desk import Desk, read_as
from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind


def take_round(desk: Desk, at: datetime, by: Recorder, *, readings: Mapping[str, str]) -> None:
    """Read the temperatures of several places on one round."""
    read = {
        desk.get("place", name): read_as(text, Kind.TEMPERATURE) for name, text in readings.items()
    }
    cold_chain.record_round(venue=desk.venue, readings=read, read_at=at, by=by)


COLD: Mapping[str, Callable[..., None]] = {
    "round": take_round,
}
