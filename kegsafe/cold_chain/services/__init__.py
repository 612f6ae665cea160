"""What changes the records of the cold room."""

from kegsafe.cold_chain.services.cooling import (
    add_thermometer,
    begin_cooling,
    read_cooling,
    record_action,
    record_check,
    set_cooling,
)
from kegsafe.cold_chain.services.gaps import PlaceAsked, decide_gap, decide_gaps
from kegsafe.cold_chain.services.imports import (
    DoubtfulLog,
    Imported,
    import_log,
    keep_log_file,
    remembered,
)
from kegsafe.cold_chain.services.loggers import (
    add_logger,
    give_token,
    put_sent,
    revoke_token,
)
from kegsafe.cold_chain.services.readings import amend_reading, record_reading, record_round
from kegsafe.cold_chain.services.time_holds import (
    begin_time_hold,
    end_time_hold,
    read_time_hold,
)

__all__ = [
    "DoubtfulLog",
    "Imported",
    "PlaceAsked",
    "add_logger",
    "add_thermometer",
    "amend_reading",
    "begin_cooling",
    "begin_time_hold",
    "decide_gap",
    "decide_gaps",
    "end_time_hold",
    "give_token",
    "import_log",
    "keep_log_file",
    "put_sent",
    "read_cooling",
    "read_time_hold",
    "record_action",
    "record_check",
    "record_reading",
    "record_round",
    "remembered",
    "revoke_token",
    "set_cooling",
]
