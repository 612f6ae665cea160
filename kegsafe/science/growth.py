"""How much of its cold life a keg has used: warm hours count for more.

The square-root model compares temperatures; it predicts no counts. Drink, organism and
strain are unknown, so only the ratio to 5 degC is used, and only to SHORTEN a date: an
hour below 5 degC is charged as an hour. Any rate may be off by a factor of 2.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from kegsafe.science.ranges import within

REFERENCE_DEGC = 5.0
T_MIN_DEGC = -1.18  # science/growth_parameters.csv, Listeria monocytogenes; a test compares
T_MIN_MILK_DEGC = 0.6  # the same table's other row; counts warm hours for more
LOWEST_READING_DEGC = -40.0
HIGHEST_READING_DEGC = 60.0  # 85.0, -127 and 999.9 are error codes of probes, not temperatures
CAPPED_ABOVE_DEGC = 35.0
VALID_TO_DEGC = 25.0

# House choices: closely spaced readings are joined by a line, wider ones are charged at
# the worse of the two, and past four hours nobody knows what happened.
LINE_UP_TO_H = 1.0
WORSE_UP_TO_H = 4.0


@dataclass(frozen=True, slots=True)
class Reading:
    """One temperature of a log.

    Attributes
    ----------
    at_h : hours since any fixed moment
    temperature_degc : -40 to 60; anything else is an error code and is refused
    """

    at_h: float
    temperature_degc: float

    def __post_init__(self) -> None:
        """Refuse what a probe cannot have measured; OutsideRange names it."""
        within("time", self.at_h, -1e7, 1e7, "h")
        within(
            "temperature",
            self.temperature_degc,
            LOWEST_READING_DEGC,
            HIGHEST_READING_DEGC,
            "degC",
        )


@dataclass(frozen=True, slots=True)
class Exposure:
    """What a stretch of cold holding has cost.

    Attributes
    ----------
    known_equivalent_h : hours at 5 degC that would have let as much grow, of the hours known
    known_charged_h : the same, with no hour charged for less than an hour
    worse_step_h : hours charged at the worse of two readings, 1 to 4 h apart
    unverified_h : hours nobody read: longer gaps, and time before the first or after the last
    warmest_degc : highest temperature of the hours known; None if none is known
    """

    known_equivalent_h: float
    known_charged_h: float
    worse_step_h: float
    unverified_h: float
    warmest_degc: float | None

    @property
    def equivalent_h(self) -> float | None:
        """Hours at 5 degC; None as soon as any hour is unverified."""
        return self.known_equivalent_h if self.unverified_h == 0.0 else None

    @property
    def charged_h(self) -> float | None:
        """Hours to take off a use-by; None as soon as any hour is unverified."""
        return self.known_charged_h if self.unverified_h == 0.0 else None

    @property
    def left_the_range(self) -> bool:
        """True if some reading was warmer than the model was fitted for: trust the alarm."""
        return self.warmest_degc is not None and self.warmest_degc > VALID_TO_DEGC


def relative_rate(temperature_degc: float, t_min_degc: float = T_MIN_DEGC) -> float:
    """Growth rate over the rate at 5 degC; 0 where nothing grows.

    Fitted for 0 to 25 degC, about +/-30 % at 10 degC. Above 35 degC the rate of 35 degC
    stands, which is above what any organism here reaches.

    Parameters
    ----------
    temperature_degc : -40 to 60
    t_min_degc : where the straight line of the root meets zero, -10 to 4

    Raises OutsideRange.

    Source: Ratkowsky et al. 1982, J. Bacteriol. 154:1222-1226, square-root model [form read
    as quoted elsewhere]; T_min from FDA/FSIS/CDC 2003 [memory, confirmed from its table].

    >>> round(relative_rate(10.0), 3)
    3.273
    """
    reading = within(
        "temperature", temperature_degc, LOWEST_READING_DEGC, HIGHEST_READING_DEGC, "degC"
    )
    foot = within("lowest growth temperature", t_min_degc, -10.0, 4.0, "degC")
    above = max(0.0, min(reading, CAPPED_ABOVE_DEGC) - foot)
    return (above / (REFERENCE_DEGC - foot)) ** 2


def exposure(
    log: Sequence[Reading], start_h: float, end_h: float, t_min_degc: float = T_MIN_DEGC
) -> Exposure:
    """Add up what a temperature log says between two moments.

    Readings may come unsorted; of two at one time the warmer counts. Up to an hour apart
    they are joined by the trapezoid, which never falls below the curve it replaces; up to
    four hours the worse one stands for the gap; past that the gap is unverified, and so
    is time not covered. Readings outside the stretch serve to find its ends.

    Parameters
    ----------
    log : readings, any order, none is allowed
    start_h, end_h : on the clock of the readings, start_h <= end_h
    t_min_degc : as in `relative_rate`

    Raises OutsideRange.

    Source: integration of the rate, not of the temperature; the two gap limits are house
    choices.

    >>> hours = [Reading(h, t) for h, t in enumerate((4, 4, 8, 12, 9, 6, 5))]
    >>> round(exposure(hours, 0.0, 6.0).known_equivalent_h, 2)
    12.37
    """
    within("start", start_h, -1e7, 1e7, "h")
    within("end", end_h, start_h, 1e7, "h")
    readings = _by_time(log)
    stretches = [
        stretch
        for earlier, later in pairwise(readings)
        if (stretch := _stretch(earlier, later, start_h, end_h)).hours > 0.0
    ]
    known = [stretch for stretch in stretches if stretch.gap_h <= WORSE_UP_TO_H]
    unread_h = sum(stretch.hours for stretch in stretches if stretch.gap_h > WORSE_UP_TO_H)
    return Exposure(
        known_equivalent_h=sum(s.hours * s.mean_rate(t_min_degc, 0.0) for s in known),
        known_charged_h=sum(s.hours * s.mean_rate(t_min_degc, 1.0) for s in known),
        worse_step_h=sum(s.hours for s in known if s.gap_h > LINE_UP_TO_H),
        unverified_h=unread_h + _uncovered_h(readings, start_h, end_h),
        warmest_degc=max((s.warmest_degc for s in known), default=None),
    )


def remaining_h(limit_h_at_5: float, charged_h: float) -> float:
    """Hours a batch has left at 5 degC; it can only be fewer than the clock says.

    Parameters
    ----------
    limit_h_at_5 : life at 5 degC in hours, 0 or more
    charged_h : from `Exposure.charged_h`, 0 or more

    Raises OutsideRange.

    >>> round(remaining_h(168.0, 141.1), 1)
    26.9
    """
    limit = within("limit", limit_h_at_5, 0.0, 1e7, "h")
    return max(0.0, limit - within("hours charged", charged_h, 0.0, 1e9, "h"))


@dataclass(frozen=True, slots=True)
class _Stretch:
    """The part of one gap between readings that lies in the time asked about."""

    hours: float
    gap_h: float
    first_degc: float
    last_degc: float

    @property
    def warmest_degc(self) -> float:
        """The warmer of its two ends."""
        return max(self.first_degc, self.last_degc)

    def mean_rate(self, t_min_degc: float, at_least: float) -> float:
        """Mean of the relative rates at the two ends, neither below a floor."""
        ends = (self.first_degc, self.last_degc)
        return sum(max(at_least, relative_rate(end, t_min_degc)) for end in ends) / 2.0


def _stretch(earlier: Reading, later: Reading, start_h: float, end_h: float) -> _Stretch:
    """Cut a gap to the time asked about; in a wide one the worse reading stands throughout."""
    gap_h = later.at_h - earlier.at_h
    from_h, to_h = max(earlier.at_h, start_h), min(later.at_h, end_h)
    if gap_h > LINE_UP_TO_H:
        worse = max(earlier.temperature_degc, later.temperature_degc)
        return _Stretch(to_h - from_h, gap_h, worse, worse)
    slope = (later.temperature_degc - earlier.temperature_degc) / gap_h
    return _Stretch(
        to_h - from_h,
        gap_h,
        earlier.temperature_degc + slope * (from_h - earlier.at_h),
        later.temperature_degc - slope * (later.at_h - to_h),
    )


def _by_time(log: Sequence[Reading]) -> list[Reading]:
    """Readings in order, the warmer one where two claim the same moment."""
    warmest: dict[float, Reading] = {}
    for reading in log:
        known = warmest.get(reading.at_h)
        if known is None or reading.temperature_degc > known.temperature_degc:
            warmest[reading.at_h] = reading
    return [warmest[at_h] for at_h in sorted(warmest)]


def _uncovered_h(readings: Sequence[Reading], start_h: float, end_h: float) -> float:
    """Hours asked about before the first reading and after the last."""
    if not readings:
        return end_h - start_h
    before = max(0.0, min(end_h, readings[0].at_h) - start_h)
    return before + max(0.0, end_h - max(start_h, readings[-1].at_h))
