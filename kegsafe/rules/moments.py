"""How a day and a moment are written in words that label, page, report and command all use."""

from datetime import date, datetime, tzinfo

# English whatever the machine's locale: strftime would answer in its language.
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def on_day(day: date) -> str:
    """Return a day that cannot be read two ways.

    >>> on_day(date(2026, 11, 24))
    'Tue 24 Nov 2026'
    """
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def at_moment(moment: datetime, zone: tzinfo | None = None) -> str:
    """Return an aware moment to the minute by the clock of a zone, its own unless one is given.

    The hour that the autumn clock change repeats names its zone, as 01:30
    alone would be two moments.

    >>> from zoneinfo import ZoneInfo
    >>> at_moment(datetime(2026, 11, 24, 22, 59, tzinfo=ZoneInfo("UTC")), ZoneInfo("Europe/Paris"))
    'Tue 24 Nov 2026, 23:59'
    """
    local = moment.astimezone(zone) if zone else moment
    text = f"{on_day(local)}, {local:%H:%M}"
    return f"{text} {local.tzname()}" if _comes_twice(local) else text


def _comes_twice(local: datetime) -> bool:
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
