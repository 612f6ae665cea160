"""A log of one place as columns of whole numbers: seconds of the epoch, hundredths of a degC.

Whole numbers make sums exact and let a month of one-minute readings be judged at once.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import islice
from operator import sub


def limit_centi_degc(degc: Decimal) -> int:
    """Return a limit in hundredths of a degC, rounded to the stricter side.

    >>> limit_centi_degc(Decimal("5.0")), limit_centi_degc(Decimal("4.444"))
    (500, 444)
    """
    return int((degc * 100).to_integral_value(ROUND_FLOOR))


def reading_centi_degc(degc: Decimal) -> int:
    """Return a reading, or what a thermometer may be off, rounded to the warmer hundredth.

    >>> reading_centi_degc(Decimal("5.001"))
    501
    """
    return int((degc * 100).to_integral_value(ROUND_CEILING))


def to_warmer_hundredth(degc: Decimal) -> Decimal:
    """Return a reading as it is stored and judged: nothing above a limit is kept as the limit.

    >>> to_warmer_hundredth(Decimal("5.001")), to_warmer_hundredth(Decimal("5"))
    (Decimal('5.01'), Decimal('5'))
    """
    return Decimal(reading_centi_degc(degc)) / 100


@dataclass(frozen=True, slots=True)
class TemperatureLog:
    """Readings in order of time, and the steps between them.

    `steps[k]` is the time from reading k to reading k + 1 in seconds. `is_gap[k]` is 1 where
    the readings around that step stood further apart than readings may, even when only part
    of the step is asked about.
    """

    times: Sequence[int]
    temperatures: Sequence[int]
    steps: Sequence[int]
    is_gap: bytes

    def gap_seconds(self, first: int, last: int) -> int:
        """Return the seconds of the gaps among steps first to last - 1."""
        if self.is_gap.find(1, first, last) < 0:
            return 0
        return sum(self.steps[k] for k in range(first, last) if self.is_gap[k])


def log_of(
    times: Sequence[int],
    temperatures: Sequence[int],
    *,
    longest_gap: int,
    start: int | None = None,
    end: int | None = None,
) -> TemperatureLog:
    """Return a log cut to a stretch of time.

    A cut between two readings takes the warmer of the two, and what was too far apart stays
    so. Time before the first reading, or after the last, is judged by that one reading, and is
    a gap where it is longer than readings may stand apart.

    Parameters
    ----------
    times : seconds of the epoch, each later than the one before
    temperatures : hundredths of a degC, one for each time
    longest_gap : seconds two readings may stand apart, 1 or more
    start, end : seconds of the epoch; None: from the first reading, to the last

    Raises ValueError for columns of different length, times out of order, no room between
    readings, and a stretch that ends before it begins.
    """
    if len(times) != len(temperatures):
        raise ValueError(f"{len(times)} times and {len(temperatures)} temperatures.")
    if longest_gap < 1:
        raise ValueError(f"longest_gap must be 1 s or more, got {longest_gap}.")
    if start is not None and end is not None and end < start:
        raise ValueError(f"The stretch ends at {end}, before it starts at {start}.")
    steps = list(map(sub, islice(times, 1, None), times))
    if steps and min(steps) < 1:
        raise ValueError("Readings must be in order of time, one for each moment.")
    log = TemperatureLog(times, temperatures, steps, bytes(map(longest_gap.__lt__, steps)))
    if not times or (start is None and end is None):
        return log
    first, last = _ends(times, start, end)
    return _trimmed(_padded(log, first, last, longest_gap), first, last)


def _ends(times: Sequence[int], start: int | None, end: int | None) -> tuple[int, int]:
    first = times[0] if start is None else start
    last = times[-1] if end is None else end
    return first, max(first, last)


def _padded(log: TemperatureLog, start: int, end: int, longest_gap: int) -> TemperatureLog:
    """Carry the first and the last reading out to the ends of the stretch."""
    times, degrees = list(log.times), list(log.temperatures)
    steps, gaps = list(log.steps), log.is_gap
    if start < times[0]:
        lead = times[0] - start
        times, degrees, steps = [start, *times], [degrees[0], *degrees], [lead, *steps]
        gaps = bytes((lead > longest_gap,)) + gaps
    if end > times[-1]:
        tail = end - times[-1]
        times, degrees, steps = [*times, end], [*degrees, degrees[-1]], [*steps, tail]
        gaps += bytes((tail > longest_gap,))
    return TemperatureLog(times, degrees, steps, gaps)


def _trimmed(log: TemperatureLog, start: int, end: int) -> TemperatureLog:
    """Cut away what lies outside the stretch; both ends lie inside the log."""
    first = bisect_right(log.times, start) - 1
    last = bisect_left(log.times, end)
    times = list(log.times[first : last + 1])
    degrees = list(log.temperatures[first : last + 1])
    early, late = degrees[:2], degrees[-2:]
    if times[0] < start:
        times[0], degrees[0] = start, max(early)
    if times[-1] > end:
        times[-1], degrees[-1] = end, max(late)
    steps = list(map(sub, islice(times, 1, None), times))
    return TemperatureLog(times, degrees, steps, log.is_gap[first:last])
