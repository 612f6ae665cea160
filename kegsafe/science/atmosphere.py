"""The air a gauge stands in: standard pressure at an altitude, and gauge against absolute.

A gauge reads what is above the air around it; gas dissolves by what is above nothing.
Every crossing from one to the other goes through this module.
"""

from kegsafe.science.ranges import within

LOWEST_M = -500.0
HIGHEST_M = 4500.0
ATMOSPHERE_BAR = 1.01325  # one standard atmosphere; exact by definition

LOWEST_BAR_ABS = 0.5
HIGHEST_BAR_ABS = 1.1


def standard_pressure_bar_abs(altitude_m: float) -> float:
    """Air pressure of the standard atmosphere at an altitude, bar absolute.

    Weather moves the true pressure by some 0.03 bar either way. [memory]

    Parameters
    ----------
    altitude_m : above sea level, -500 to 4500

    Raises OutsideRange.

    Source: ISO 2533 (1975), standard atmosphere, layer of constant lapse rate.
    [memory; held against the standard's table in the tests]

    >>> round(standard_pressure_bar_abs(0.0), 5)
    1.01325
    >>> round(standard_pressure_bar_abs(1500.0), 4)
    0.8456
    """
    altitude = within("altitude", altitude_m, LOWEST_M, HIGHEST_M, "m")
    return float(ATMOSPHERE_BAR * (1.0 - 2.25577e-5 * altitude) ** 5.25588)


def absolute_from_gauge_bar(gauge_bar: float, air_bar_abs: float = ATMOSPHERE_BAR) -> float:
    """Absolute pressure behind a gauge reading, bar.

    Parameters
    ----------
    gauge_bar : gauge; below zero is a partial vacuum, never below -air_bar_abs
    air_bar_abs : absolute pressure of the air around the gauge, 0.5 to 1.1

    Raises OutsideRange.

    >>> round(absolute_from_gauge_bar(2.0), 5)
    3.01325
    """
    air = _checked_air(air_bar_abs)
    return within("gauge pressure", gauge_bar, -air, 1000.0, "bar") + air


def gauge_from_absolute_bar(pressure_bar_abs: float, air_bar_abs: float = ATMOSPHERE_BAR) -> float:
    """Gauge reading of an absolute pressure, bar.

    Parameters
    ----------
    pressure_bar_abs : absolute, 0 to 1001
    air_bar_abs : absolute pressure of the air around the gauge, 0.5 to 1.1

    Raises OutsideRange.

    >>> round(gauge_from_absolute_bar(57.29), 2)
    56.28
    """
    air = _checked_air(air_bar_abs)
    return within("absolute pressure", pressure_bar_abs, 0.0, 1001.0, "bar") - air


def _checked_air(air_bar_abs: float) -> float:
    return within("air pressure", air_bar_abs, LOWEST_BAR_ABS, HIGHEST_BAR_ABS, "bar absolute")
