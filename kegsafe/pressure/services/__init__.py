"""What changes about pressure equipment and gas, each with its entry in the ledger."""

from kegsafe.pressure.services.checking import record_check, set_interval
from kegsafe.pressure.services.documents import keep_check_photograph, keep_document
from kegsafe.pressure.services.gas import (
    charge_cylinder,
    connect,
    disconnect,
    set_pressure,
    weigh_cylinder,
)
from kegsafe.pressure.services.items import (
    add_gas_room,
    add_item,
    amend_gas_room,
    amend_item,
    set_item_service,
    state_plate,
)
from kegsafe.pressure.services.set_too_high import GasNow

__all__ = [
    "GasNow",
    "add_gas_room",
    "add_item",
    "amend_gas_room",
    "amend_item",
    "charge_cylinder",
    "connect",
    "disconnect",
    "keep_check_photograph",
    "keep_document",
    "record_check",
    "set_interval",
    "set_item_service",
    "set_pressure",
    "state_plate",
    "weigh_cylinder",
]
