"""The hour that comes twice when clocks go back: told apart by the order of rows, or refused."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise

_MOST_HELD = 20_000  # rows; one a second for two hours is 7,200


@dataclass(frozen=True, slots=True)
class Told:
    """Rows of an hour that is over: (line, second of the epoch, temperature), and those refused."""

    readings: tuple[tuple[int, int, int], ...] = ()
    refused: tuple[tuple[int, str], ...] = ()
    notice: str = ""


@dataclass(frozen=True, slots=True)
class _Held:
    line: int
    local: datetime
    both: tuple[int, int]
    centi_degc: int


@dataclass(slots=True)
class DoubledHour:
    """Holds the rows of a doubled hour until the log leaves it.

    The clock jumps once, from the end of the first pass to the beginning of the second. A log
    that shows no such jump, or more than one, does not say which pass a row belongs to.
    """

    held: list[_Held] = field(default_factory=list)
    overfull_on: date | None = None

    def takes(self, local: datetime) -> bool:
        """Say whether a row can be held: it belongs to the hour held, and there is room."""
        if len(self.held) >= _MOST_HELD:
            self.overfull_on = local.date()
            return False
        return not self.held or abs(self.held[-1].local - local) < timedelta(days=1)

    def hold(self, line: int, local: datetime, both: tuple[int, int], centi_degc: int) -> None:
        """Hold a row of an hour that comes twice."""
        self.held.append(_Held(line, local, both, centi_degc))

    def told(self, reading_before_s: int | None) -> Told:
        """Return what the rows held turn out to be, and hold none.

        reading_before_s : instant of the reading before the hour, which shows whether the log
            runs from old to new; None: there is none
        """
        held = self.held[:]
        self.held.clear()
        is_rising = _is_rising(reading_before_s, held[0].both)
        is_told = is_rising is not None and held[0].local.date() != self.overfull_on
        turns = _turns(held, bool(is_rising)) if is_told else []
        if len(turns) != 1:
            return Told(refused=tuple((each.line, f"{each.local:%Y-%m-%d %H:%M}") for each in held))
        first, second = (0, 1) if is_rising else (1, 0)
        return Told(
            readings=tuple(
                (each.line, each.both[first if k <= turns[0] else second], each.centi_degc)
                for k, each in enumerate(held)
            ),
            notice=f"Lines {held[0].line} to {held[-1].line}: an hour of {held[0].local:%Y-%m-%d} "
            "came twice when the clocks went back. The clock of the file jumps once there, so "
            "both were told apart.",
        )


def _is_rising(reading_before_s: int | None, both: tuple[int, int]) -> bool | None:
    """Say whether a log runs from old to new; None: not shown."""
    if reading_before_s is None or both[0] <= reading_before_s <= both[1]:
        return None
    return reading_before_s < both[0]


def _turns(held: list[_Held], is_rising: bool) -> list[int]:
    """Return the places where the local clock jumps against the run of the log, or stands."""
    return [
        k
        for k, (a, b) in enumerate(pairwise(held))
        if a.local == b.local or (b.local > a.local) != is_rising
    ]
