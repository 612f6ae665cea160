"""Mean kinetic temperature: the steady warmth that would have aged an ingredient as much.

It speaks of chemistry only. Near 5 degC it reckons a tenfold rate per 18 degC or so, and
forgives warm spells that bacteria do not: never judge microbial safety by it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from kegsafe.science.ranges import OutsideRange, within

ACTIVATION_ENERGY_KJ_MOL = 83.144
GAS_CONSTANT_KJ_MOL_K = 0.0083144
_ENERGY_OVER_R_K = ACTIVATION_ENERGY_KJ_MOL / GAS_CONSTANT_KJ_MOL_K
_ZERO_DEGC_K = 273.15


@dataclass(frozen=True, slots=True)
class Hold:
    """A time spent at one temperature.

    Attributes
    ----------
    hours : 0 or more
    temperature_degc : -60 to 80
    """

    hours: float
    temperature_degc: float

    def __post_init__(self) -> None:
        """Refuse what no store can have been; OutsideRange names it."""
        within("time", self.hours, 0.0, 1e7, "h")
        within("temperature", self.temperature_degc, -60.0, 80.0, "degC")


def mean_kinetic_temperature_degc(holds: Sequence[Hold]) -> float:
    """Mean kinetic temperature of times spent at known temperatures, degC.

    With equal times this is the pharmacopoeial mean over readings; unequal times weigh by
    their length.

    Parameters
    ----------
    holds : at least one, with some time between them

    Raises OutsideRange.

    Source: USP 29, chapter <1160>: 83.144 kJ/mol and 0.0083144 kJ/(mol K), equal
    intervals. [read] Weighting by time: Tong and Lock 2015. [second-hand]

    >>> holds = [Hold(2.0, 20.0), Hold(4.0, 2.0), Hold(1.0, 25.0)]
    >>> round(mean_kinetic_temperature_degc(holds), 1)
    15.7
    """
    total_h = sum(hold.hours for hold in holds)
    within("time held", total_h, 1e-6, 1e9, "h")
    mean_rate = sum(hold.hours * _rate(hold.temperature_degc) for hold in holds) / total_h
    return _ENERGY_OVER_R_K / -math.log(mean_rate) - _ZERO_DEGC_K


def from_log(log: Sequence[tuple[float, float]]) -> float:
    """Mean kinetic temperature of a temperature log, degC.

    Between two readings the rate is joined by a straight line, which errs to the warm side.

    Parameters
    ----------
    log : (hours, degC) in order of time, each time later than the one before, two at least

    Raises OutsideRange. Source: as `mean_kinetic_temperature_degc`.

    >>> round(from_log([(0.0, 5.0), (1.0, 5.0), (3.0, 5.0)]), 6)
    5.0
    """
    if len(log) < 2:
        raise OutsideRange("readings in the log", len(log), 2, math.inf)
    shares: list[Hold] = []
    for (from_h, first_degc), (to_h, last_degc) in pairwise(log):
        half_h = within("time between readings", to_h - from_h, 1e-9, 1e7, "h") / 2.0
        shares += [Hold(half_h, first_degc), Hold(half_h, last_degc)]
    return mean_kinetic_temperature_degc(shares)


def _rate(temperature_degc: float) -> float:
    """Arrhenius factor exp(-dH/RT)."""
    return math.exp(-_ENERGY_OVER_R_K / (temperature_degc + _ZERO_DEGC_K))
