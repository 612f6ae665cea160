"""What is known about pressure equipment and gas, in a fixed, small number of queries.

For other rooms:

- `everything_due(venue, today)`: what is due or not known, each with its reason, rule, and who
  decides, as frozen rows, the most urgent first. The pack and readiness read this.
- `register(venue, today)`: every item and keg with all of its answers.
- `standing_of_kegs(kegs)`: what speaks against pouring a keg; `something_amiss` asks cheaply.
- `gas_reaching(spells)`: which lots of gas touched a drink; `kegs_served` is the way back.
- `lid_relief(keg)`: at which pressure the relief valve on a keg's lid opens; `lid_valves(keg)`:
  all of them, as fill and pour judge them.
- `verdicts_of(venue)`: each room with its screening figure.

Defects, missing papers and rooms together: `kegsafe.pressure.audit.audit_of(venue, today)`.
"""

from kegsafe.pressure.queries.connections import (
    gas_system,
    in_flow_order,
    item_key,
    keg_key,
    kegs_served,
    open_connections,
)
from kegsafe.pressure.queries.everything_due import DueOn, dues_in, everything_due
from kegsafe.pressure.queries.facts import item_facts, keg_facts, open_failures, regime_key
from kegsafe.pressure.queries.gas_behind import GasBehind, OnGas, gas_reaching
from kegsafe.pressure.queries.register import RegisterRow, narrowed, register, sorted_by
from kegsafe.pressure.queries.relief import (
    LidRelief,
    lid_relief,
    lid_valve_column,
    lid_valves,
    lid_valves_of,
)
from kegsafe.pressure.queries.rooms import rooms_with_facts, verdicts_of
from kegsafe.pressure.queries.standing import something_amiss, standing_of_kegs

__all__ = [
    "DueOn",
    "GasBehind",
    "LidRelief",
    "OnGas",
    "RegisterRow",
    "dues_in",
    "everything_due",
    "gas_reaching",
    "gas_system",
    "in_flow_order",
    "item_facts",
    "item_key",
    "keg_facts",
    "keg_key",
    "kegs_served",
    "lid_relief",
    "lid_valve_column",
    "lid_valves",
    "lid_valves_of",
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
