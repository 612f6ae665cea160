"""How hard water pushes to become vapour: the saturation line of water."""

import math

from kegsafe.science.ranges import within

LOWEST_DEGC = 0.0
HIGHEST_DEGC = 110.0

_CRITICAL_K = 647.096
_CRITICAL_BAR_ABS = 220.64
# Each pair: coefficient and power of (1 - T/Tc).
_TERMS = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


def saturation_pressure_bar_abs(temperature_degc: float) -> float:
    """Vapour pressure of pure water, bar absolute.

    Good to 0.03 % against the reference equation over the stated range.

    Parameters
    ----------
    temperature_degc : 0 to 110; the line itself begins at 0.01 degC, and ice and
        supercooled water differ by less than the stated accuracy at 0

    Raises OutsideRange.

    Source: Wagner & Pruss 1993, saturation equation of IAPWS. [memory; held against
    IAPWS-95 over the whole range in the tests]

    >>> round(saturation_pressure_bar_abs(100.0), 5)
    1.01418
    """
    t = within("temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
    temperature_k = t + 273.15
    distance = 1.0 - temperature_k / _CRITICAL_K
    exponent = sum(factor * distance**power for factor, power in _TERMS)
    return _CRITICAL_BAR_ABS * math.exp(_CRITICAL_K / temperature_k * exponent)
