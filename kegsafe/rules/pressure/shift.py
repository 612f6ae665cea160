"""What somebody would breathe over a shift, against the limits for eight hours and a quarter.

The figures say 'above' or they say nothing: a mean below a limit clears nobody to stay.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pressure.exposure import ExposureLimit, Role, exposure_limit
from kegsafe.science.exposure import (
    SHIFT_HOURS,
    Spell,
    mean_while_clearing_ppm,
    time_weighted_average_ppm,
)

QUARTER_HOURS = 0.25  # how long the short-term limits average over


@dataclass(frozen=True, slots=True)
class Shift:
    """A shift in figures, ppm by volume, and every limit it passes.

    `worst_quarter_ppm` is the highest mean of a spell that lasts a quarter of an hour or more.
    """

    eight_hour_mean_ppm: float
    worst_quarter_ppm: float
    long_limit: ExposureLimit
    short_limit: ExposureLimit
    findings: tuple[Finding, ...]


def judge_shift(spells: Sequence[Spell], regime: str) -> Shift:
    """Hold a shift against a regime's limits for eight hours and for a quarter of an hour.

    regime : '' is none chosen: the strictest of all
    """
    mean = time_weighted_average_ppm(spells)
    quarters = (spell.mean_ppm for spell in spells if spell.hours >= QUARTER_HOURS)
    worst = max(quarters, default=0.0)
    long_limit = exposure_limit(Role.LONG, regime)
    short_limit = exposure_limit(Role.SHORT, regime)
    held = (
        ("the mean of eight hours", mean, long_limit),
        ("the worst quarter of an hour", worst, short_limit),
    )
    # In whole ppm, as it is shown: the last digit of a sum must not decide.
    findings = tuple(
        _above(what, ppm, limit) for what, ppm, limit in held if round(ppm) > limit.ppm
    )
    return Shift(mean, worst, long_limit, short_limit, findings)


def shift_while_clearing(start_ppm: float, air_changes_per_h: float, regime: str) -> Shift:
    """Return the shift of somebody who came in when a release ended and stayed for all of it.

    Nobody should; it is the figure to hold an air exchange against, and the least it can be.
    """
    bounds = ((0.0, QUARTER_HOURS), (QUARTER_HOURS, SHIFT_HOURS))
    spells = [
        Spell(mean_while_clearing_ppm(start_ppm, air_changes_per_h, first, last), last - first)
        for first, last in bounds
    ]
    return judge_shift(spells, regime)


def _above(what: str, ppm: float, limit: ExposureLimit) -> Finding:
    return Finding(
        f"shift.above_{limit.role}",
        Severity.ASK,
        f"{what.capitalize()} is {ppm:.0f} ppm, above {limit.ppm} ppm ({limit.name}, "
        f"{limit.averaging}).",
        limit.citation,
        limit.verified,
    )
