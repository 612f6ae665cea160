"""One temperature as a logger writes it, to hundredths of a degC."""

import re
from decimal import ROUND_CEILING, Decimal

from kegsafe.cold_chain.log_file.shape import Unit

COLDEST_CENTI_DEGC, WARMEST_CENTI_DEGC = -6000, 6000

_NUMBER = re.compile(
    r"([+\-\u2212\u2013]?)([0-9]{1,4})(?:([.,])([0-9]{0,9}))?\s*"
    r"(?:[°º\u00b0]|deg\.?|degrees)?\s*([CcFf\u2103\u2109])?"
)
_NOTHING = frozenset(
    ("", "-", "--", "---", "----", "nan", "n/a", "#n/a", "na", "null", "none", "err", "error")
)
_CELSIUS = re.compile(
    r"(°|º|\bdeg(?:rees?)?)[\s._]*c\b|\bcelsius\b|\u2103|[\[(]\s*c\s*[\])]|_c$|^c$", re.IGNORECASE
)
_FAHRENHEIT = re.compile(
    r"(°|º|\bdeg(?:rees?)?)[\s._]*f\b|\bfahrenheit\b|\u2109|[\[(]\s*f\s*[\])]|_f$|^f$",
    re.IGNORECASE,
)
UNIT_WORDS = {Unit.CELSIUS: "°C", Unit.FAHRENHEIT: "°F"}


class NoTemperature(ValueError):
    """A cell holds no temperature; the text says why."""


def is_number(cell: str) -> bool:
    """Say whether a cell looks like a temperature, with or without its unit."""
    return _NUMBER.fullmatch(cell.strip()) is not None


def decimal_mark(cell: str) -> str:
    """Return the decimal mark of a number, empty where it has none."""
    found = _NUMBER.fullmatch(cell.strip())
    return (found[3] or "") if found else ""


def unit_of_cell(cell: str) -> Unit | None:
    """Return the unit a number carries, if it carries one."""
    found = _NUMBER.fullmatch(cell.strip())
    if found is None or not found[5]:
        return None
    return Unit.CELSIUS if found[5] in "Cc\u2103" else Unit.FAHRENHEIT


def units_named(text: str) -> frozenset[Unit]:
    """Return the units a header or another line names."""
    text = text.strip()
    celsius = {Unit.CELSIUS} if _CELSIUS.search(text) else set()
    return frozenset(celsius | ({Unit.FAHRENHEIT} if _FAHRENHEIT.search(text) else set()))


def centi_degc(cell: str, decimal: str, unit: Unit) -> int:
    """Return a temperature in hundredths of a degC, rounded to the warmer one.

    Raises NoTemperature for an empty cell, an error code, another decimal mark or unit than
    the file's, and what no bar is: below -60 or above 60 degC.

    >>> centi_degc("41", ".", Unit.FAHRENHEIT), centi_degc("5.04", ".", Unit.CELSIUS)
    (500, 504)
    """
    text = cell.strip()
    found = _NUMBER.fullmatch(text)
    if text.lower() in _NOTHING or found is None:
        raise NoTemperature(
            f'"{text[:40]}" is no temperature.' if text else "The temperature is empty."
        )
    if found[3] and found[3] != decimal:
        raise NoTemperature(f'"{text}" has a "{found[3]}" where this file has "{decimal}".')
    own = unit_of_cell(text)
    if own is not None and own is not unit:
        raise NoTemperature(
            f'"{text}" is in {UNIT_WORDS[own]}; the file is read in {UNIT_WORDS[unit]}.'
        )
    sign = "" if found[1] in {"", "+"} else "-"
    exact = _centi(Decimal(f"{sign}{found[2]}.{found[4] or '0'}"), unit)
    if not COLDEST_CENTI_DEGC <= exact <= WARMEST_CENTI_DEGC:
        raise NoTemperature(f'"{text}" is an error code of the probe, or in another unit.')
    return exact


def _centi(value: Decimal, unit: Unit) -> int:
    exact = value * 100 if unit is Unit.CELSIUS else (value - 32) * 500 / 9
    return int(exact.to_integral_value(ROUND_CEILING))
