"""Times of a scenario, told from today: '3 days ago 15:30', '2 hours ago', 'in 12 days'.

A scenario has no dates of its own, so that it is alive on whatever day it is laid. What must
lie a few hours back is told in hours: at ten past midnight that is yesterday evening.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_ELAPSED = re.compile(r"(\d+) (minute|hour)s? ago")
_CLOCK = re.compile(r"(\d+) days? ago (\d\d:\d\d)")
_DAY = re.compile(r"(?:in (?P<later>\d+) days?|(?P<earlier>\d+) days? ago)")


@dataclass(frozen=True, slots=True)
class Moments:
    """Reads the times of one venue's scenario. `now` is aware."""

    now: datetime
    zone: ZoneInfo

    @property
    def today(self) -> date:
        return self.now.astimezone(self.zone).date()

    def at(self, text: str) -> datetime:
        """Return a moment: '90 minutes ago', '2 hours ago' (elapsed) or '3 days ago 15:30'.

        Raises ValueError for any other text.
        """
        if found := _ELAPSED.fullmatch(text):
            return self.now.astimezone(UTC) - timedelta(**{f"{found[2]}s": int(found[1])})
        if found := _CLOCK.fullmatch(text):
            day = self.today - timedelta(days=int(found[1]))
            return datetime.combine(day, time.fromisoformat(found[2]), tzinfo=self.zone)
        raise ValueError(f'"{text}" is no time. Write "3 days ago 15:30" or "2 hours ago".')

    def day(self, text: str) -> date:
        """Return a date: 'in 12 days' or '3 days ago'. Raises ValueError for any other text."""
        found = _DAY.fullmatch(text)
        if found is None:
            raise ValueError(f'"{text}" is no date. Write "in 12 days" or "3 days ago".')
        if found["later"]:
            return self.today + timedelta(days=int(found["later"]))
        return self.today - timedelta(days=int(found["earlier"]))
