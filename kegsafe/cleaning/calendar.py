"""What is due as an iCalendar: one entry a day for each piece and plan."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from icalendar import Calendar, Event

from kegsafe.cleaning.queries import DuePiece
from kegsafe.venues.models import Venue

PRODUCT = "-//kegsafe//cleaning due//EN"
LOOK_AGAIN = timedelta(hours=6)


def calendar_of(venue: Venue, pieces: Iterable[DuePiece], now: datetime) -> bytes:
    """Return the calendar: all-day entries on the venue's day, overdue ones today.

    An entry keeps its identity while a piece stays under a plan, so that a calendar moves it
    and does not pile up copies. What has no day on record is left out.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"{venue}: cleaning due")
    calendar.add("refresh-interval", LOOK_AGAIN, parameters={"VALUE": "DURATION"})
    for piece in pieces:
        if piece.due.due_at is not None:
            calendar.add_component(_entry(venue, piece, now))
    return calendar.to_ical()


def _entry(venue: Venue, piece: DuePiece, now: datetime) -> Event:
    day = max(venue.local(piece.due.due_at), venue.local(now)).date()
    entry = Event()
    entry.add("uid", f"{piece.key}.{piece.plan.family}@kegsafe.invalid")
    entry.add("dtstamp", now)
    entry.add("dtstart", day)
    entry.add("dtend", day + timedelta(days=1))
    entry.add("summary", f"{_opening(piece)}{piece.name}: {piece.plan.name}")
    entry.add("description", "\n".join(reason.statement for reason in piece.due.reasons))
    if piece.place:
        entry.add("location", piece.place)
    entry.add("categories", [piece.due.status.value])
    entry.add("transp", "TRANSPARENT")
    return entry


def _opening(piece: DuePiece) -> str:
    return "Overdue: " if piece.due.status == "overdue" else ""
