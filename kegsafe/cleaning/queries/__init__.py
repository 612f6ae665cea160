"""What is known of cleaning: records, lines, what is due, and the log."""

from kegsafe.cleaning.queries.due import DuePiece, due_of, piece_key, pieces_of
from kegsafe.cleaning.queries.lines import line_states, speaking_events
from kegsafe.cleaning.queries.plain_record import (
    cleaning_log,
    history_of,
    kegs_to_clean,
    lines_to_clean,
)

__all__ = [
    "DuePiece",
    "cleaning_log",
    "due_of",
    "history_of",
    "kegs_to_clean",
    "line_states",
    "lines_to_clean",
    "piece_key",
    "pieces_of",
    "speaking_events",
]
