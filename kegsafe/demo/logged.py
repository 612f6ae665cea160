"""The loggers of the invented bars: what their files hold, the same on every day it is laid.

A compressor's saw tooth, and a door that is opened in the evening. No value is random.
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from kegsafe.cold_chain import services as cold_chain
from kegsafe.cold_chain.log_file import sniff
from kegsafe.cold_chain.models import Logger
from kegsafe.ledger.services import Recorder

EVERY = timedelta(minutes=15)
_SAW_TOOTH = (Decimal("-0.3"), Decimal("0.3"), Decimal("0.1"), Decimal("-0.1"))
_DOOR = Decimal("0.4")
_DOOR_EVERY = 23  # readings; no round number of hours, so that no hour is always warm


@dataclass(frozen=True, slots=True)
class Warming:
    """Something went wrong: from a moment on it warms in a straight line up to a temperature."""

    since: datetime
    degc: Decimal


def read_log(
    logger: Logger,
    from_at: datetime,
    until_at: datetime,
    around_degc: Decimal,
    by: Recorder,
    *,
    warming: Warming | None = None,
) -> None:
    """Take in what a logger wrote from one moment to another, every quarter of an hour.

    Nothing is taken in where no reading lies between.
    """
    rows = list(_rows(from_at, until_at, around_degc, warming))
    if not rows:
        return
    content = "\n".join(["time,temperature (°C)", *rows, ""]).encode()
    cold_chain.import_log(
        place=logger.place,
        stream=io.BytesIO(content),
        name=f"{logger.name}-{until_at.astimezone(UTC):%Y%m%d-%H%M}.csv",
        shape=sniff(content).shape,
        by=by,
        logger=logger,
    )


def _rows(
    from_at: datetime, until_at: datetime, around_degc: Decimal, warming: Warming | None
) -> Iterator[str]:
    # By UTC: a quarter of an hour is one also where the clocks change.
    at, end = from_at.astimezone(UTC).replace(second=0, microsecond=0), until_at.astimezone(UTC)
    number = 0
    while at <= end:
        degc = around_degc + _SAW_TOOTH[number % len(_SAW_TOOTH)]
        if number % _DOOR_EVERY == 0:
            degc += _DOOR
        if warming is not None and at > warming.since:
            share = Decimal((at - warming.since) / (end - warming.since))
            degc = around_degc + (warming.degc - around_degc) * share
        yield f"{at:%Y-%m-%dT%H:%M:%SZ},{degc:.2f}"
        at += EVERY
        number += 1
