"""What is known about pressure equipment and gas, in a fixed, small number of queries."""

from kegsafe.pressure.queries.connections import (
    gas_system,
    item_key,
    keg_key,
    kegs_served,
    open_connections,
)
from kegsafe.pressure.queries.facts import item_facts, keg_facts, open_failures, regime_key
from kegsafe.pressure.queries.register import RegisterRow, narrowed, register, sorted_by
from kegsafe.pressure.queries.rooms import rooms_with_facts, verdicts_of
from kegsafe.pressure.queries.standing import something_amiss, standing_of_kegs

__all__ = [
    "RegisterRow",
    "gas_system",
    "item_facts",
    "item_key",
    "keg_facts",
    "keg_key",
    "kegs_served",
    "narrowed",
    "open_connections",
    "open_failures",
    "regime_key",
    "register",
    "rooms_with_facts",
    "something_amiss",
    "sorted_by",
    "standing_of_kegs",
    "verdicts_of",
]
