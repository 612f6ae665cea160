"""The only place that changes what the room of the inspection keeps."""

from kegsafe.inspection.services.haccp import adopt_summary, amend_step
from kegsafe.inspection.services.packs import (
    LONGEST,
    bury_the_dead,
    check_period,
    finish,
    order_pack,
    record_pack,
    set_failed,
)

__all__ = [
    "LONGEST",
    "adopt_summary",
    "amend_step",
    "bury_the_dead",
    "check_period",
    "finish",
    "order_pack",
    "record_pack",
    "set_failed",
]
