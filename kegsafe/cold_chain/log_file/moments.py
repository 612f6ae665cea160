"""Days and clock times as loggers write them; which orders of a date its numbers allow."""

import re
from dataclasses import dataclass
from datetime import date

from kegsafe.cold_chain.log_file.shape import DateOrder
from kegsafe.cold_chain.log_file.zones import offset_minutes

EARLIEST = date(2000, 1, 1)  # a logger whose clock was never set starts before it

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MARK = r"\s*[-/. ,]\s*"
_NUMBERS = re.compile(rf"([0-9]{{1,4}}){_MARK}([0-9]{{1,2}}){_MARK}([0-9]{{1,4}})")
_COMPACT = re.compile(r"((?:19|20)[0-9]{2})([0-9]{2})([0-9]{2})")
_NAMED = re.compile(
    rf"([0-9]{{1,4}}){_MARK}([A-Za-z]{{3,9}})\.?{_MARK}([0-9]{{1,4}})"
    rf"|([A-Za-z]{{3,9}})\.?{_MARK}([0-9]{{1,2}}){_MARK}([0-9]{{4}})"
)
_CLOCK = re.compile(
    r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:[.,][0-9]{1,9})?)?"
    r"\s*([AaPp])?(?:\.?[Mm]\.?)?\s*(Z|z|UTC|GMT|[+-][0-9]{1,2}:?(?:[0-9]{2})?)?"
)
_HALF = re.compile(r"[AaPp]\.?[Mm]\.?")
_JOINT = re.compile(r"(?<=[0-9])[\sT,]+(?=[0-9]{1,2}:[0-9]{2})")


class NoMoment(ValueError):
    """A cell holds no day, or no clock time; the text says why."""


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day: seconds after midnight, its own offset if it has one, am or pm."""

    seconds: int
    offset_s: int | None
    is_twelve_hour: bool


def split(cell: str) -> tuple[str, str]:
    """Return the day and the clock of a cell that holds both; NoMoment otherwise."""
    parts = _JOINT.split(cell.strip(), maxsplit=1)
    if len(parts) != 2:
        raise NoMoment(f'"{cell[:40]}" is no day with a time. Expected 2026-04-07 13:45.')
    return parts[0], parts[1]


def clock_of(text: str) -> Clock:
    """Return a time of day; NoMoment says what is wrong with it."""
    text = text.strip()
    found = _CLOCK.fullmatch(text)
    if found is None or (found[4] and not _HALF.search(text)):
        raise NoMoment(f'"{text[:40]}" is no time of day. Expected 13:45, 13:45:00 or 1:45 PM.')
    hour, minute, second = int(found[1]), int(found[2]), int(found[3] or 0)
    half = (found[4] or "").lower()
    if minute > 59 or second > 59 or hour > (12 if half else 23) or (half and hour == 0):
        raise NoMoment(f'"{text[:40]}" is no time of day: the numbers go too far.')
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return Clock(3600 * hour + 60 * minute + second, _offset_s(found[5]), bool(half))


def _offset_s(text: str | None) -> int | None:
    if text is None:
        return None
    if text.upper() in {"Z", "UTC", "GMT"}:
        return 0
    minutes = offset_minutes(text)
    if minutes is None:
        raise NoMoment(f'"{text}" is no offset from UTC. Expected +01:00.')
    return 60 * minutes


def orders_of(text: str) -> frozenset[DateOrder]:
    """Return the orders in which a text is a day since 2000; none when it is no such day."""
    return frozenset(order for order in DateOrder if _day(text, order) is not None)


def day_of(text: str, order: DateOrder) -> date:
    """Return the day a text says, read in one order; NoMoment says what is wrong with it."""
    day = _any_day(text, order)
    if day is None:
        raise NoMoment(f'"{text[:40]}" is no day when read as {order.value}.')
    if day < EARLIEST:
        raise NoMoment(f'"{text[:40]}" is before 2000: the clock of the logger was not set.')
    return day


def is_day(text: str) -> bool:
    """Say whether a text is a day in some order, whatever its year."""
    return any(_any_day(text, order) is not None for order in DateOrder)


def form_of(text: str) -> str:
    """Return how a day is written: eight digits, with a month's name, or numbers; and its year.

    "named" and "compact" days read the same in every order.
    """
    text = text.strip()
    if _COMPACT.fullmatch(text):
        return "compact"
    if _NUMBERS.fullmatch(text):
        return "full year" if re.search(r"[0-9]{4}", text) else "short year"
    return "named"


def _day(text: str, order: DateOrder) -> date | None:
    day = _any_day(text, order)
    return day if day is not None and day >= EARLIEST else None


def _any_day(text: str, order: DateOrder) -> date | None:
    numbers = _three_numbers(text.strip(), order)
    if numbers is None:
        return None
    year, month, day = numbers
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _three_numbers(text: str, order: DateOrder) -> tuple[int, int, int] | None:
    """Return year, month and day as numbers that may still be no date."""
    if found := _COMPACT.fullmatch(text):
        return int(found[1]), int(found[2]), int(found[3])
    if found := _NUMBERS.fullmatch(text):
        return _ordered(found[1], found[2], found[3], order)
    if found := _NAMED.fullmatch(text):
        return _named(found)
    return None


def _ordered(a: str, b: str, c: str, order: DateOrder) -> tuple[int, int, int] | None:
    if (len(a) == 4) != (order is DateOrder.YEAR_FIRST) and (len(a) == 4 or len(c) == 4):
        return None
    if order is DateOrder.YEAR_FIRST:
        year, month, day = a, b, c
    elif order is DateOrder.DAY_FIRST:
        year, month, day = c, b, a
    else:
        year, month, day = c, a, b
    if len(year) not in {2, 4} or max(len(month), len(day)) > 2:
        return None
    return _full_year(year), int(month), int(day)


def _named(found: re.Match[str]) -> tuple[int, int, int] | None:
    """Read a day with the name of its month: the name leaves nothing to choose."""
    if found[4]:
        day, name, year = found[5], found[4], found[6]
    elif len(found[1]) == 4:
        year, name, day = found[1], found[2], found[3]
    else:
        day, name, year = found[1], found[2], found[3]
    known = name[:3].lower()
    if known not in _MONTHS or len(year) not in {2, 4} or len(day) > 2:
        return None
    return _full_year(year), _MONTHS.index(known) + 1, int(day)


def _full_year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)
