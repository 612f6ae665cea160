"""What a good thermometer shows in boiling water, here and today.

The boiling-point check wants the pressure of the air in the room, not the weather report's
figure: that one is reduced to sea level.
"""

from dataclasses import dataclass

from kegsafe.science.atmosphere import (
    HIGHEST_BAR_ABS,
    LOWEST_BAR_ABS,
    standard_pressure_bar_abs,
)
from kegsafe.science.bisection import solve_rising
from kegsafe.science.ranges import within
from kegsafe.science.water_vapour import (
    HIGHEST_DEGC,
    LOWEST_DEGC,
    saturation_pressure_bar_abs,
)

FROM_PRESSURE_DEGC = 0.1
FROM_ALTITUDE_DEGC = 0.5


@dataclass(frozen=True, slots=True)
class BoilingPoint:
    """The temperature pure water boils at, and how far that figure may be off."""

    temperature_degc: float
    uncertainty_degc: float
    air_bar_abs: float


def boiling_point_at_pressure(air_bar_abs: float) -> BoilingPoint:
    """Boiling point of pure water under a measured air pressure.

    Good to 0.1 degC when the barometer is read in the room.

    Parameters
    ----------
    air_bar_abs : absolute pressure of the air in the room, 0.5 to 1.1

    Raises OutsideRange.

    Source: the saturation line of water, turned round. [as `water_vapour`]

    >>> round(boiling_point_at_pressure(1.01325).temperature_degc, 2)
    99.97
    """
    air = within("air pressure", air_bar_abs, LOWEST_BAR_ABS, HIGHEST_BAR_ABS, "bar absolute")
    boiling = solve_rising(saturation_pressure_bar_abs, air, LOWEST_DEGC, HIGHEST_DEGC)
    return BoilingPoint(boiling, FROM_PRESSURE_DEGC, air)


def boiling_point_at_altitude(altitude_m: float) -> BoilingPoint:
    """Boiling point of pure water at an altitude, air pressure unread.

    Good to 0.5 degC: a weather change of 20 mbar moves it by 0.55 degC.

    Parameters
    ----------
    altitude_m : above sea level, -500 to 4500

    Raises OutsideRange.

    Source: ISO 2533 standard atmosphere and the saturation line of water.
    [as `atmosphere` and `water_vapour`]

    >>> round(boiling_point_at_altitude(1524.0).temperature_degc, 1)
    94.9
    """
    air = standard_pressure_bar_abs(altitude_m)
    at_pressure = boiling_point_at_pressure(air)
    return BoilingPoint(at_pressure.temperature_degc, FROM_ALTITUDE_DEGC, air)
