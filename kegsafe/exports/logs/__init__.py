"""Every log of a venue, each declared once: what it holds, its columns with units, its rows."""

from kegsafe.exports.logs import cleaning, cold, making, pressure, stock, venue
from kegsafe.exports.logs.log import Log

LOGS: tuple[Log, ...] = (
    *stock.LOGS,
    *making.LOGS,
    *cold.LOGS,
    *cleaning.LOGS,
    *pressure.LOGS,
    *venue.LOGS,
)


def log_called(key: str) -> Log | None:
    """Return the log that an address names."""
    return next((log for log in LOGS if log.key == key), None)
