"""Every log of a venue, each declared once: what it holds, its columns with units, its rows."""

from kegsafe.exports.logs import cleaning, cold, making, pressure, recalls, stock, venue
from kegsafe.exports.logs.log import Log

# In the order of the page, by the part of the bar they are about.
PARTS: tuple[tuple[str, tuple[Log, ...]], ...] = (
    ("Stock", stock.LOGS),
    ("Making and pouring", making.LOGS),
    ("Cold holding", cold.LOGS),
    ("Cleaning", cleaning.LOGS),
    ("Pressure equipment", pressure.LOGS),
    ("Recalls", recalls.LOGS),
    ("Venue", venue.LOGS),
)
LOGS: tuple[Log, ...] = tuple(log for _, logs in PARTS for log in logs)


def log_called(key: str) -> Log | None:
    """Return the log that an address names."""
    return next((log for log in LOGS if log.key == key), None)
