"""Local time to instants: the hour that comes twice, and the one that never comes."""

import re
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

_OFFSET = re.compile(r"([+-])([0-9]{1,2})(?::?([0-9]{2}))?")


def zone_of(name: str) -> tzinfo | None:
    """Return a zone by its IANA name, "UTC" or an offset such as "+01:00"; None: no such zone."""
    if name.upper() in {"UTC", "GMT", "Z"}:
        return UTC
    minutes = offset_minutes(name)
    if minutes is not None:
        return timezone(timedelta(minutes=minutes))
    try:
        return ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        return None


def offset_minutes(text: str) -> int | None:
    """Return an offset such as +01:00, -0530 or +2 in minutes; None for anything else."""
    found = _OFFSET.fullmatch(text)
    if found is None:
        return None
    hours, minutes = int(found[2]), int(found[3] or 0)
    if hours > 14 or minutes > 59:
        return None
    return (-1 if found[1] == "-" else 1) * (60 * hours + minutes)


def start_of_even_day(day: date, zone: tzinfo) -> int | None:
    """Return the epoch second of a day's midnight; None on a day on which the clocks change."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=zone)
    late = datetime(day.year, day.month, day.day, 23, 59, 59, tzinfo=zone, fold=1)
    if not midnight.utcoffset() == midnight.replace(fold=1).utcoffset() == late.utcoffset():
        return None
    return int(midnight.timestamp())


def instants(local: datetime, zone: tzinfo) -> tuple[int, ...]:
    """Return the epoch seconds a local time stands for: one, two in a doubled hour, or none."""
    found = set()
    for fold in (0, 1):
        moment = local.replace(tzinfo=zone, fold=fold).astimezone(UTC)
        if moment.astimezone(zone).replace(tzinfo=None, fold=0) == local:
            found.add(int(moment.timestamp()))
    return tuple(sorted(found))
