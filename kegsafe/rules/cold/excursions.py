"""When a place left its limit, how far and for how long: computed from readings, never typed.

Between two readings the whole step counts as above when either of them is. A straight line
between them is shown beside it and decides nothing: it would give time away.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from itertools import islice
from operator import add, mul

from kegsafe.rules.cold.temperature_log import TemperatureLog, log_of
from kegsafe.science.growth import (
    LINE_UP_TO_H,
    LOWEST_READING_DEGC,
    WORSE_UP_TO_H,
    relative_rate,
)

_HOUR_S = 3600
_LINE_UP_TO_S = int(LINE_UP_TO_H * _HOUR_S)
_WORSE_UP_TO_S = int(WORSE_UP_TO_H * _HOUR_S)


@dataclass(frozen=True, slots=True)
class Gap:
    """Time that nobody read, between readings too far apart; seconds of the epoch.

    `counts_as_above` where a reading beside it was above the limit.
    """

    from_s: int
    until_s: int
    counts_as_above: bool

    @property
    def seconds(self) -> int:
        """Return how long it is."""
        return self.until_s - self.from_s


@dataclass(frozen=True, slots=True)
class Excursion:
    """One stay above the limit, from the last good reading before it to the first one after.

    Attributes
    ----------
    from_s, until_s : seconds of the epoch
    begins_above : the log, or the stretch it was cut to, begins above: it may have left earlier
    is_open : the last reading of the log was still above
    warmest_centi_degc, warmest_at_s : the warmest reading, in hundredths of a degC, and its time
    unread_s : seconds of it that lie in gaps
    line_from_s, line_until_s, line_s : by straight lines between readings, gaps left out;
        for information alone
    area_degc_h : degC times hours above the limit along those lines
    equivalent_h : hours at 5 degC in which as much would grow, of the hours known
    unverified_h : hours between readings more than four hours apart, for which no number is given
    """

    from_s: int
    until_s: int
    begins_above: bool
    is_open: bool
    warmest_centi_degc: int
    warmest_at_s: int
    unread_s: int
    line_from_s: float
    line_until_s: float
    line_s: float
    area_degc_h: float
    equivalent_h: float
    unverified_h: float

    @property
    def above_s(self) -> int:
        """Return the seconds that count as above the limit."""
        return self.until_s - self.from_s

    @property
    def warmest_degc(self) -> Decimal:
        """Return the warmest reading."""
        return Decimal(self.warmest_centi_degc) / 100


@dataclass(frozen=True, slots=True)
class ColdRecord:
    """What a log shows against a limit. None for the ends: no reading at all."""

    from_s: int | None
    until_s: int | None
    excursions: tuple[Excursion, ...]
    gaps: tuple[Gap, ...]

    @property
    def above_s(self) -> int:
        """Return the seconds that count as above the limit, all excursions added."""
        return sum(excursion.above_s for excursion in self.excursions)

    @property
    def unknown_s(self) -> int:
        """Return the seconds of gaps between good readings: not known, and not fine either."""
        return sum(gap.seconds for gap in self.gaps if not gap.counts_as_above)

    @property
    def open_excursion(self) -> Excursion | None:
        """Return the excursion that goes on at the end of the log."""
        return next((each for each in self.excursions if each.is_open), None)

    def reaching_past(self, from_s: int) -> "ColdRecord":
        """Return what of it reaches past a second: an excursion whole, a gap cut to begin there."""
        return ColdRecord(
            from_s,
            self.until_s,
            tuple(each for each in self.excursions if each.until_s > from_s),
            tuple(
                replace(gap, from_s=max(gap.from_s, from_s))
                for gap in self.gaps
                if gap.until_s > from_s
            ),
        )


def excursions(
    times: Sequence[int],
    temperatures: Sequence[int],
    limit: int,
    *,
    longest_gap: int,
    accuracy: int = 0,
    start: int | None = None,
    end: int | None = None,
) -> ColdRecord:
    """Return the excursions of a log above a limit, and its gaps.

    A reading is above when reading plus accuracy is more than the limit. A step counts whole
    when either end is above, however long it is.

    Parameters
    ----------
    times : seconds of the epoch, each later than the one before
    temperatures : hundredths of a degC, -6000 to 6000, one for each time
    limit : hundredths of a degC
    longest_gap : seconds two readings may stand apart before the time between is not known
    accuracy : hundredths of a degC the thermometer may be off, 0 or more
    start, end : seconds of the epoch to cut the log to; None: as far as it goes

    Raises ValueError as `log_of` does, for a negative accuracy, and OutsideRange (one too) for
    a temperature above 60 degC.

    Source: step counting and gaps are house values, the careful reading of all codes on file;
    equivalent hours as kegsafe.science.growth.

    >>> half_hours = range(0, 7 * 1800, 1800)
    >>> degrees = (400, 450, 650, 700, 600, 480, 420)
    >>> record = excursions(half_hours, degrees, 500, longest_gap=3600)
    >>> record.above_s // 60, record.excursions[0].warmest_degc
    (120, Decimal('7'))
    """
    if accuracy < 0:
        raise ValueError(f"accuracy must be 0 or more, got {accuracy}.")
    log = log_of(times, temperatures, longest_gap=longest_gap, start=start, end=end)
    if not log.times or (start is not None and start == end):
        return ColdRecord(start, end, (), _all_unread(start, end))
    good_up_to = limit - accuracy
    is_above = bytes(map(good_up_to.__lt__, log.temperatures))
    return ColdRecord(
        log.times[0],
        log.times[-1],
        tuple(_excursion(log, good_up_to, *run) for run in _runs(is_above)),
        tuple(_gaps(log, is_above)),
    )


def hours_charged_above_the_clock(
    times: Sequence[int],
    temperatures: Sequence[int],
    *,
    longest_gap: int,
    start: int | None = None,
    end: int | None = None,
) -> float:
    """Return the hours a log costs a drink beyond its hours on the clock, 0 or more.

    An hour at 5 degC or colder costs an hour; a warmer one costs as many hours as let as much
    grow at 5 degC. Steps over an hour are charged at the warmer end. Parameters as `excursions`.
    Hours between readings more than four hours apart are not known and not in the sum: see
    `ColdRecord.unknown_s`.

    >>> hourly = range(0, 7 * 3600, 3600)
    >>> round(hours_charged_above_the_clock(hourly, [1500] * 7, longest_gap=3600), 1)
    35.1
    """
    log = log_of(times, temperatures, longest_gap=longest_gap, start=start, end=end)
    if not log.times:
        return 0.0
    is_charged = bytes(map((500).__lt__, log.temperatures))
    last_step = len(log.times) - 1
    return sum(
        _hours_weighed(log, max(first - 1, 0), min(after, last_step), _rate_beyond_the_clock)[0]
        for first, after in _runs(is_charged)
    )


def _all_unread(start: int | None, end: int | None) -> tuple[Gap, ...]:
    if start is None or end is None or start == end:
        return ()
    return (Gap(start, end, counts_as_above=False),)


def _runs(flags: bytes) -> Iterator[tuple[int, int]]:
    """Yield the first index of each run of ones and the index after its last."""
    first = flags.find(1)
    while first >= 0:
        after = flags.find(0, first)
        if after < 0:
            after = len(flags)
        yield first, after
        first = flags.find(1, after)


def _gaps(log: TemperatureLog, is_above: bytes) -> Iterator[Gap]:
    for first, after in _runs(log.is_gap):
        for k in range(first, after):
            beside = bool(is_above[k] or is_above[k + 1])
            yield Gap(log.times[k], log.times[k + 1], beside)


def _excursion(log: TemperatureLog, good_up_to: int, first: int, after: int) -> Excursion:
    """Measure the run of readings first to after - 1, all of them above."""
    before, back = max(first - 1, 0), min(after, len(log.times) - 1)
    warmest = max(log.temperatures[first:after])
    line = _line(log, good_up_to, first, after)
    equivalent_h, unverified_h = _hours_weighed(log, before, back, _rate)
    return Excursion(
        from_s=log.times[before],
        until_s=log.times[back],
        begins_above=first == 0,
        is_open=after == len(log.times),
        warmest_centi_degc=warmest,
        warmest_at_s=log.times[log.temperatures.index(warmest, first, after)],
        unread_s=log.gap_seconds(before, back),
        line_from_s=line.from_s,
        line_until_s=line.until_s,
        line_s=line.seconds,
        area_degc_h=line.area / (100 * _HOUR_S),
        equivalent_h=equivalent_h,
        unverified_h=unverified_h,
    )


@dataclass(frozen=True, slots=True)
class _Line:
    """Time and area above the limit along straight lines; area in hundredths of degC times s."""

    from_s: float
    until_s: float
    seconds: float
    area: float


def _line(log: TemperatureLog, good_up_to: int, first: int, after: int) -> _Line:
    rise_s, rise = _edge(log, good_up_to, first, first - 1)
    fall_s, fall = _edge(log, good_up_to, after - 1, after)
    steps = _known_steps(log, first, after - 1)
    held = sum(steps)
    degrees = log.temperatures
    twice = sum(map(mul, steps, map(add, degrees[first:after], degrees[first + 1 : after])))
    return _Line(
        from_s=log.times[first] - rise_s,
        until_s=log.times[after - 1] + fall_s,
        seconds=held + rise_s + fall_s,
        area=twice / 2 - held * good_up_to + rise + fall,
    )


def _edge(log: TemperatureLog, good_up_to: int, above: int, good: int) -> tuple[float, float]:
    """Return seconds and area above the limit of the step from a reading above to a good one.

    None is drawn through a gap, or past the ends of the log.
    """
    step = min(above, good)
    if not 0 <= step < len(log.steps) or log.is_gap[step]:
        return 0.0, 0.0
    height = log.temperatures[above] - good_up_to
    drop = log.temperatures[above] - log.temperatures[good]
    seconds = log.steps[step] * height / drop
    return seconds, seconds * height / 2


def _known_steps(log: TemperatureLog, first: int, last: int) -> Sequence[int]:
    if log.is_gap.find(1, first, last) < 0:
        return log.steps[first:last]
    return [0 if log.is_gap[k] else log.steps[k] for k in range(first, last)]


@cache
def _rate(centi_degc: int) -> float:
    """Return the growth rate over that at 5 degC; a log has few different temperatures."""
    return relative_rate(max(centi_degc / 100, LOWEST_READING_DEGC))


@cache
def _rate_beyond_the_clock(centi_degc: int) -> float:
    return max(0.0, _rate(centi_degc) - 1.0)


def _hours_weighed(
    log: TemperatureLog, first: int, last: int, rate: Callable[[int], float]
) -> tuple[float, float]:
    """Return weighed hours of steps first to last - 1, and hours too far apart for a number."""
    steps = log.steps[first:last]
    rates = list(map(rate, log.temperatures[first : last + 1]))
    if steps and max(steps) > _LINE_UP_TO_S:
        return _hours_of_wide_steps(steps, rates)
    total = sum(map(mul, steps, map(add, rates, islice(rates, 1, None))))
    return total / (2 * _HOUR_S), 0.0


def _hours_of_wide_steps(steps: Sequence[int], rates: Sequence[float]) -> tuple[float, float]:
    weighed = unverified = 0.0
    for k, step in enumerate(steps):
        if step > _WORSE_UP_TO_S:
            unverified += step
        elif step > _LINE_UP_TO_S:
            weighed += step * max(rates[k], rates[k + 1])
        else:
            weighed += step * (rates[k] + rates[k + 1]) / 2
    return weighed / _HOUR_S, unverified / _HOUR_S
