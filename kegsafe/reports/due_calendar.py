"""What is due on pressure equipment as a calendar file, by the same rule as the page.

Source: RFC 5545: lines end in CR LF and are folded at 75 octets (3.1); text is escaped
(3.3.11); an event has UID and DTSTAMP (3.6.1); a day without a time is VALUE=DATE. [memory]
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta

from kegsafe.pressure.queries import DueOn, RegisterRow, dues_in
from kegsafe.rules.pressure.due import DueState
from kegsafe.venues.models import Venue

_MOST_OCTETS = 75
_ESCAPES = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n", "\r": None})


def due_calendar(venue: Venue, rows: Sequence[RegisterRow], today: date, made_at: datetime) -> str:
    """Return the calendar: an event on each day something falls due, and one today for the rest.

    What is not known has no day of its own. It is treated as due, so today's event names it.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//kegsafe//due dates//EN"]
    lines.append(f"X-WR-CALNAME:{escaped(f'{venue.name}: pressure equipment')}")
    answers = dues_in(rows, set(DueState))
    for each in answers:
        if each.due.due_on is not None:
            lines += _event(venue, _uid(each), each.due.due_on, made_at, *_words(each))
    unknown = [
        f"{each.thing}: {each.due.label}"
        for each in answers
        if each.due.due_on is None and each.due.asks_for_work
    ]
    if unknown:
        summary = f"{len(unknown)} dates not known: treat as due"
        lines += _event(venue, "not-known", today, made_at, summary, "\n".join(unknown))
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in folded(line))


def escaped(text: str) -> str:
    """Return a text as a calendar writes it; nothing a person typed ends a line."""
    return text.translate(_ESCAPES)


def folded(line: str) -> Iterator[str]:
    """Yield a line in parts of at most 75 octets, never cutting a letter in two."""
    part, size = "", 0
    for letter in line:
        octets = len(letter.encode())
        if size + octets > _MOST_OCTETS:
            yield part
            part, size = " ", 1
        part, size = part + letter, size + octets
    yield part


def _event(
    venue: Venue, uid: str, day: date, made_at: datetime, summary: str, description: str
) -> Iterable[str]:
    return (
        "BEGIN:VEVENT",
        f"UID:{uid}@{venue.chain_id}",
        f"DTSTAMP:{made_at.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{day + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{escaped(summary)}",
        f"DESCRIPTION:{escaped(description)}",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
    )


def _uid(each: DueOn) -> str:
    kind, key = each.owner
    return f"{kind}-{key}-{each.due.check}"


def _words(each: DueOn) -> tuple[str, str]:
    due = each.due
    why = f"{due.because} {due.source} ({due.verified}). Who decides: {due.decided_by}."
    return f"{each.thing}: {due.label}", why
