"""Holding by the clock instead of by temperature: one way, once, and only by a written procedure.

The clock runs from the moment the food left the cold, not from the first warm reading, and
going back into the cold does not stop it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from kegsafe.rules.codes import MissingRule
from kegsafe.rules.cold.tables import TimeControl, time_control
from kegsafe.rules.date_marking import elapsed_end
from kegsafe.rules.degrees import degrees
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.moments import at_moment

RULE = "time_control"


class Option(StrEnum):
    """The ways a code may offer."""

    FOUR_HOURS = "four_hours"
    FOUR_HOURS_OPENED = "four_hours_opened"  # cut produce, food from a sealed container
    SIX_HOURS = "six_hours"


@dataclass(frozen=True, slots=True)
class TimeControlVerdict:
    """When the food is discarded, and what stands against it. None: the option is not open."""

    discard_at: datetime | None
    findings: tuple[Finding, ...]

    @property
    def must_go(self) -> bool:
        """Say whether it is discarded: its time is over, or it grew too warm."""
        return any(each.severity is Severity.STOP for each in self.findings)


def options_of(house: House, on: date) -> tuple[Option, ...]:
    """Return the ways a venue's code offers on a day; none where it has no such rule."""
    return tuple(option for option in Option if _row(house, option, on) is not None)


def time_control_verdict(
    *,
    option: Option,
    removed_at: datetime,
    start_degc: Decimal | None,
    read_since_degc: Sequence[Decimal],
    has_written_procedure: bool,
    house: House,
    on: date,
    now: datetime,
) -> TimeControlVerdict:
    """Return the moment to mark on the food, and whether it is past.

    Parameters
    ----------
    removed_at : aware; when it left the cold, or was cut or opened
    start_degc : its temperature then; None when it was not taken
    read_since_degc : temperatures read since
    has_written_procedure : on file before the food left the cold
    """
    row = _row(house, option, on)
    if row is None:
        silence = f"{house.code.name} has no rule for holding by time alone in this way."
        return TimeControlVerdict(None, (_plain(silence),))
    if not has_written_procedure:
        return _refused(row, "Holding by time needs a written procedure, on file beforehand.")
    if start_degc is None:
        return _refused(row, "Its temperature at the start was not taken.")
    if start_degc > row.start_degc:
        most = degrees(row.start_degc)
        return _refused(row, f"It started at {degrees(start_degc)}; {most} is the most.")
    discard_at = elapsed_end(removed_at, row.hours)
    return TimeControlVerdict(discard_at, (_judged(row, discard_at, read_since_degc, now),))


def _row(house: House, option: Option, on: date) -> TimeControl | None:
    try:
        return time_control(house.code.key, option, on)
    except MissingRule:
        return None


def _judged(
    row: TimeControl, discard_at: datetime, read: Sequence[Decimal], now: datetime
) -> Finding:
    warmest = max(read, default=None)
    if warmest is not None and row.ceiling_degc is not None and warmest > row.ceiling_degc:
        severity, said = (
            Severity.STOP,
            f"It reached {degrees(warmest)}, above {degrees(row.ceiling_degc)}: discard it.",
        )
    elif now >= discard_at:
        severity, said = Severity.STOP, f"Its time ended {at_moment(discard_at)}: discard it."
    else:
        severity, said = (
            Severity.NOTE,
            f"Mark it {at_moment(discard_at)}: served by then, or discarded.",
        )
    return Finding(RULE, severity, said, row.citation, row.verified)


def _refused(row: TimeControl, statement: str) -> TimeControlVerdict:
    finding = Finding(RULE, Severity.STOP, statement, row.citation, row.verified)
    return TimeControlVerdict(None, (finding,))


def _plain(statement: str) -> Finding:
    return Finding(RULE, Severity.STOP, statement, "shared/cold", "house")
