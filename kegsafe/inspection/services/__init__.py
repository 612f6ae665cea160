"""The only place that changes what the room of the inspection keeps."""

from kegsafe.inspection.services.haccp import adopt_summary, amend_step
from kegsafe.inspection.services.links import LONGEST_DAYS, end_link, make_link, open_link
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
    "LONGEST_DAYS",
    "adopt_summary",
    "amend_step",
    "bury_the_dead",
    "check_period",
    "end_link",
    "finish",
    "make_link",
    "open_link",
    "order_pack",
    "record_pack",
    "set_failed",
]
