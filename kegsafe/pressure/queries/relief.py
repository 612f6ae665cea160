"""The relief valve on a keg's lid, for whoever asks what a warm keg does."""

from dataclasses import dataclass
from decimal import Decimal

from kegsafe.equipment.models import Keg, Service


@dataclass(frozen=True, slots=True)
class LidRelief:
    """The relief valve of a keg that opens first. `opens_gauge_pa` None: not on record.

    `in_use` is false where it is out of service or quarantined, and not to be counted on.
    """

    name: str
    opens_gauge_pa: Decimal | None
    in_use: bool


def lid_relief(keg: Keg) -> LidRelief | None:
    """Return the valve on a keg's lid that opens first, None where none is on record: one query.

    Where one of several has no setting on record that one is returned: it cannot be counted on
    that another opens before it.
    """
    valves = keg.relief_valves.exclude(service=Service.SCRAPPED).order_by("name")
    found = [
        LidRelief(str(valve), valve.relief_gauge_pa, valve.service == Service.IN_USE)
        for valve in valves
    ]
    return min(found, key=lambda valve: valve.opens_gauge_pa or Decimal(0), default=None)
