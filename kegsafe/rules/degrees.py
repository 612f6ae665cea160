"""Temperatures in the words of a finding: both scales, and never rounded."""

from decimal import Decimal


def degrees(degc: Decimal) -> str:
    """Return a temperature in °C and °F as it was judged, exact on both scales.

    Rounding would print 5.04 as the limit it breaks.

    >>> degrees(Decimal("5.00")), degrees(Decimal("5.04"))
    ('5 °C (41 °F)', '5.04 °C (41.072 °F)')
    """
    return f"{_plain(degc)} °C ({_plain(degc * 9 / 5 + 32)} °F)"


def degrees_apart(degc: Decimal) -> str:
    """Return a difference of temperatures on both scales: an error, a step, never a reading.

    >>> degrees_apart(Decimal("1.0"))
    '1 °C (1.8 °F)'
    """
    return f"{_plain(degc)} °C ({_plain(degc * 9 / 5)} °F)"


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
