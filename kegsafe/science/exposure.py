"""What somebody breathes over a shift, held to one figure: the mean weighted by time."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from kegsafe.science.gas_release import OUTDOOR_PPM, PPM
from kegsafe.science.ranges import within

SHIFT_HOURS = 8.0


@dataclass(frozen=True, slots=True)
class Spell:
    """Some hours at a mean concentration, ppm by volume.

    Attributes
    ----------
    mean_ppm : 0 to 1 000 000
    hours : above 0 to 24

    Raises OutsideRange when made with anything else.
    """

    mean_ppm: float
    hours: float

    def __post_init__(self) -> None:
        """Refuse a spell that cannot be."""
        within("concentration", self.mean_ppm, 0.0, PPM, "ppm")
        within("hours at it", self.hours, 1.0 / 3600.0, 24.0, "h")


def time_weighted_average_ppm(spells: Sequence[Spell], over_hours: float = SHIFT_HOURS) -> float:
    """Mean concentration over a shift, ppm.

    All spells are counted over the same hours, so that a shift longer than these weighs more
    and a shorter one counts clean air for the rest.

    Parameters
    ----------
    spells : each with its mean and its hours, in any order
    over_hours : the hours of the limit, 1 to 24

    Raises OutsideRange. Source: 29 CFR 1910.1000(d)(1)(i), E = (Ca Ta + ... + Cn Tn) / 8. [memory]

    >>> time_weighted_average_ppm([Spell(12_000.0, 2.0), Spell(2_000.0, 6.0)])
    4500.0
    """
    hours = within("hours of the limit", over_hours, 1.0, 24.0, "h")
    return sum(spell.mean_ppm * spell.hours for spell in spells) / hours


def mean_while_clearing_ppm(
    start_ppm: float,
    air_changes_per_h: float,
    from_hours: float,
    to_hours: float,
    background_ppm: float = OUTDOOR_PPM,
) -> float:
    """Mean CO2 between two moments while a room is ventilated after a release, ppm.

    The least it can be: gas lying in layers clears more slowly.

    Parameters
    ----------
    start_ppm : when the release ended, background_ppm to 1 000 000
    air_changes_per_h : fresh air per hour in room volumes, 0.01 to 100
    from_hours, to_hours : since then, 0 to 24, the second later than the first
    background_ppm : of the fresh air, 0 to 5000

    Raises OutsideRange.

    Source: the decay of `gas_release.decayed_ppm`, integrated over the time. [computed]

    >>> round(mean_while_clearing_ppm(50_000.0, 6.0, 0.0, 0.5))
    16110
    """
    fresh = within("background CO2", background_ppm, 0.0, 5000.0, "ppm")
    start = within("CO2 at the start", start_ppm, fresh, PPM, "ppm")
    changes = within("air changes per hour", air_changes_per_h, 0.01, 100.0)
    first = within("time", from_hours, 0.0, 24.0, "h")
    last = within("later time", to_hours, first + 1.0 / 3600.0, 24.0, "h")
    area = (math.exp(-changes * first) - math.exp(-changes * last)) / changes
    return fresh + (start - fresh) * area / (last - first)
