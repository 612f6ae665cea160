"""What changes the records of the cold room."""

from kegsafe.cold_chain.services.imports import (
    DoubtfulLog,
    Imported,
    import_log,
    keep_log_file,
    remembered,
)
from kegsafe.cold_chain.services.readings import amend_reading, record_reading, record_round

__all__ = [
    "DoubtfulLog",
    "Imported",
    "amend_reading",
    "import_log",
    "keep_log_file",
    "record_reading",
    "record_round",
    "remembered",
]
