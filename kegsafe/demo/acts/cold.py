"""What people of the scenario do with a thermometer, and what the loggers wrote down."""

from collections.abc import Callable, Mapping
from datetime import datetime
from decimal import Decimal

from kegsafe.cold_chain import services as cold_chain
from kegsafe.demo.desk import Desk, read_as
from kegsafe.demo.logged import EVERY, Warming, read_log
from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind


def take_round(desk: Desk, at: datetime, by: Recorder, *, readings: Mapping[str, str]) -> None:
    """Read the temperatures of several places on one round."""
    read = {
        desk.get("place", name): read_as(text, Kind.TEMPERATURE) for name, text in readings.items()
    }
    cold_chain.record_round(venue=desk.venue, readings=read, read_at=at, by=by)


def fit_logger(desk: Desk, at: datetime, by: Recorder, *, place: str, name: str) -> None:
    """Put a logger into a place; it writes down a temperature every quarter of an hour."""
    logger = cold_chain.add_logger(
        place=desk.get("place", place),
        name=name,
        interval_s=int(EVERY.total_seconds()),
        by=by,
    )
    desk.keep("logger", place, logger)


def take_in_log(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    place: str,
    since: str,
    around: str,
    warms_since: str | None = None,
    to: str | None = None,
) -> None:
    """Take in the file of a place's logger: all it wrote since then, up to now."""
    warming = None
    if warms_since is not None:
        warming = Warming(desk.moments.at(warms_since), _degc(to))
    logger = desk.get("logger", place)
    read_log(logger, desk.moments.at(since), at, _degc(around), by, warming=warming)


def buy_thermometer(desk: Desk, at: datetime, by: Recorder, *, name: str, read_in_ice: str) -> None:
    """Put a thermometer on the list and check it in ice."""
    thermometer = cold_chain.add_thermometer(venue=desk.venue, name=name, is_air=False, by=by)
    cold_chain.record_check(
        thermometer=thermometer,
        checked_at=at,
        method="ice_point",
        read_degc=_degc(read_in_ice),
        by=by,
    )
    desk.keep("thermometer", name, thermometer)


def decide_about_gap(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    place: str,
    between: str,
    until: str,
    counts: str,
    found: str,
    measured: str | None = None,
    thermometer: str | None = None,
) -> None:
    """Decide what a stretch that nobody read counts as."""
    cold_chain.decide_gap(
        place=desk.get("place", place),
        from_s=int(desk.moments.at(between).timestamp()),
        until_s=int(desk.moments.at(until).timestamp()),
        counts=counts,
        found=found,
        decided_at=at,
        by=by,
        measured_degc=read_as(measured, Kind.TEMPERATURE),
        thermometer=desk.get("thermometer", thermometer) if thermometer else None,
    )


def _degc(text: str | None) -> Decimal:
    degc = read_as(text, Kind.TEMPERATURE)
    if degc is None:
        raise ValueError("a temperature is missing")
    return degc


COLD: Mapping[str, Callable[..., None]] = {
    "round": take_round,
    "logger": fit_logger,
    "log": take_in_log,
    "thermometer": buy_thermometer,
    "decide about gap": decide_about_gap,
}
