"""One cell at a time: what it says, or a sentence with what is wrong and how to mend it."""

import re
from datetime import date, datetime, time
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError

from kegsafe.frame.moment_fields import EARLIEST, LATEST
from kegsafe.quantities import Kind, Quantity, UnreadableQuantity, read
from kegsafe.stock.models import Lot

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_TWO_WAYS = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})", re.ASCII)
_TIME = re.compile(r"(\d{1,2}):(\d{2})", re.ASCII)
# Dry ice is at -78.5 °C and a kettle at 100 °C: outside these a thermometer or a unit was misread.
COLDEST_ARRIVAL_DEGC, WARMEST_ARRIVAL_DEGC = Decimal(-80), Decimal(100)


def day(cell: str) -> date:
    """Return a date written year-month-day; one that reads two ways is refused with both."""
    try:
        if _DAY.fullmatch(cell) and EARLIEST <= date.fromisoformat(cell) < LATEST:
            return date.fromisoformat(cell)
    except ValueError:
        pass
    raise ValidationError(f'"{cell[:40]}" {_what_is_wrong_with_day(cell)}')


def clock_time(cell: str) -> time:
    """Return a time written hours:minutes, on the 24-hour clock."""
    found = _TIME.fullmatch(cell)
    if found and int(found[1]) < 24 and int(found[2]) < 60:
        return time(int(found[1]), int(found[2]))
    raise ValidationError(f'"{cell[:40]}" is no time. Write hours:minutes: 09:30 or 17:45.')


def moment(on: date, at: time, zone: ZoneInfo) -> datetime:
    """Return the instant; an hour that comes twice or not at all is refused."""
    local = datetime.combine(on, at, zone)
    if local.utcoffset() != local.replace(fold=1).utcoffset():
        raise ValidationError(
            f'"{at:%H:%M}" comes twice or not at all in the night the clocks change. '
            "Give the nearest time outside that hour."
        )
    return local


def quantity(cell: str, kind: Kind) -> Quantity:
    """Return an amount with its unit, more than nothing."""
    amount = _read(cell, kind)
    if not amount.value:
        raise ValidationError(f'"{cell[:40]}" is nothing. A lot holds more: 700 ml, for example.')
    return amount


def temperature(cell: str) -> Decimal | None:
    """Return a temperature in degC, None for an empty cell."""
    if not cell:
        return None
    found = _read(cell, Kind.TEMPERATURE).value
    if not COLDEST_ARRIVAL_DEGC <= found <= WARMEST_ARRIVAL_DEGC:
        raise ValidationError(
            f'"{cell[:40]}" is no temperature at which anything is delivered. '
            "Look at its unit: 3.5 °C or 38 °F."
        )
    return found


def date_kind(cell: str) -> str:
    """Return what the date on the pack means; a blank cell is no answer."""
    return _one_of(cell, Lot.DateKind.values)


def decision(cell: str) -> str:
    """Return accept, hold or reject."""
    return _one_of(cell, ["accept", "hold", "reject"])


def _one_of(cell: str, words: list[str]) -> str:
    if cell.lower() in words:
        return cell.lower()
    raise ValidationError(f'"{cell[:40]}" is none of the words here. Write {_either(words)}.')


def _either(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}"


def _read(cell: str, kind: Kind) -> Quantity:
    try:
        return read(cell, kind)
    except UnreadableQuantity as trouble:
        raise ValidationError(str(trouble)) from None


def _what_is_wrong_with_day(cell: str) -> str:
    found = _TWO_WAYS.fullmatch(cell)
    if not found:
        return "is no date. Write year-month-day: 2026-04-07."
    first, second, year = (int(part) for part in found.groups())
    ways = {_iso(year, first, second), _iso(year, second, first)} - {""}
    if len(ways) == 2:
        return f"can be read two ways. Write year-month-day: {' or '.join(sorted(ways))}."
    return (
        f"has its parts in another order. Write year-month-day: {next(iter(ways), '2026-04-07')}."
    )


def _iso(year: int, month: int, day_of_month: int) -> str:
    try:
        return date(year, month, day_of_month).isoformat()
    except ValueError:
        return ""
