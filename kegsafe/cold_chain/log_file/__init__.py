"""Reading the files of temperature loggers: bytes in, readings and bad rows out. No Django."""

from kegsafe.cold_chain.log_file.reading import BadRow, LogReader, LogReading, read
from kegsafe.cold_chain.log_file.shape import (
    DateOrder,
    LogShape,
    Question,
    Sniffed,
    Unit,
    UnreadableLog,
)
from kegsafe.cold_chain.log_file.sniffing import SNIFFED_BYTES, sniff

__all__ = [
    "SNIFFED_BYTES",
    "BadRow",
    "DateOrder",
    "LogReader",
    "LogReading",
    "LogShape",
    "Question",
    "Sniffed",
    "Unit",
    "UnreadableLog",
    "read",
    "sniff",
]
