"""The range in which a published relation holds, and the error that says it was left.

Outside its range a relation gives no number: an extrapolation looks exactly like an
answer, and nobody behind a bar can tell the two apart.
"""

import math


class OutsideRange(ValueError):
    """A number lies outside the range in which a published relation holds.

    Attributes
    ----------
    name : what was given, in words a reader knows ("beverage temperature")
    value : the number given, as it came in; may be nan or infinite
    low, high : the two ends of the range, both allowed
    unit : unit of value, low and high; empty for a plain ratio
    """

    def __init__(self, name: str, value: float, low: float, high: float, unit: str = "") -> None:
        self.name = name
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit
        super().__init__(name, value, low, high, unit)

    def __str__(self) -> str:
        """Say the name, the value and the range in one sentence."""
        unit = f" {self.unit}" if self.unit else ""
        allowed = f"{self.low:g} to {self.high:g}{unit}"
        return f"{self.name} must lie from {allowed}; it was {self.value:g}{unit}."


def within(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return the value if it lies in the closed range, else raise.

    Parameters
    ----------
    name : what the value is, in words; the error repeats it
    value : in `unit`; nan and infinity are refused whatever the range
    low, high : ends of the range in `unit`, both allowed
    unit : for the error's sentence; empty for a plain ratio

    Raises OutsideRange.

    >>> within("temperature", 4.0, 0.0, 40.0, "degC")
    4.0
    >>> within("temperature", 51.0, 0.0, 40.0, "degC")
    Traceback (most recent call last):
    ...
    kegsafe.science.ranges.OutsideRange: temperature must lie from 0 to 40 degC; it was 51 degC.
    """
    number = float(value)
    if not (math.isfinite(number) and low <= number <= high):
        raise OutsideRange(name, number, low, high, unit)
    return number
