"""What was read from a strip or a meter: a point or a band, and whether all of it fits."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from kegsafe.rules.cleaning.guidance import amount


class Means(StrEnum):
    """How a value came about."""

    STRIP = "strip"
    METER = "meter"
    TITRATION = "titration"
    DOSED = "dosed"  # worked out from what was poured together; nothing was read


class Fit(StrEnum):
    """How a reading lies to a limit."""

    INSIDE = "inside"
    UNRESOLVED = "unresolved"  # part of the band is inside, part is not
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Reading:
    """A value seen: one point, or a band between two blocks of a strip's chart.

    `highest` is None for a colour past the chart's last block: nobody knows how far.
    """

    lowest: Decimal
    highest: Decimal | None
    means: Means = Means.METER

    def __post_init__(self) -> None:
        if not self.lowest.is_finite() or self.lowest < 0:
            raise ValueError("a reading is a number of 0 or more")
        if self.highest is not None and not self.highest.is_finite():
            raise ValueError("a reading is a number of 0 or more")
        if self.highest is not None and self.highest < self.lowest:
            raise ValueError("the upper block of a band is not below its lower block")

    @classmethod
    def point(cls, value: Decimal, means: Means = Means.METER) -> "Reading":
        """Return a reading of one value."""
        return cls(value, value, means)

    def in_words(self, unit: str) -> str:
        """Return the reading as a person says it: '100 mg/l', 'between 50 mg/l and 100 mg/l'."""
        low = amount(self.lowest, unit)
        if self.highest is None:
            return f"{low} or more"
        if self.highest == self.lowest:
            return low
        return f"between {low} and {amount(self.highest, unit)}"


def fit(reading: Reading, minimum: Decimal | None, maximum: Decimal | None) -> Fit:
    """Say whether the whole reading lies from minimum to maximum, both ends allowed.

    A band counts only when the whole band is inside: what is seen is 'somewhere in it'.

    >>> fit(Reading(Decimal(50), Decimal(100)), Decimal(100), Decimal(200)).value
    'unresolved'
    """
    low, high = reading.lowest, reading.highest
    too_low = minimum is not None and high is not None and high < minimum
    if too_low or (maximum is not None and low > maximum):
        return Fit.OUTSIDE
    starts_inside = minimum is None or low >= minimum
    ends_inside = maximum is None or (high is not None and high <= maximum)
    return Fit.INSIDE if starts_inside and ends_inside else Fit.UNRESOLVED
