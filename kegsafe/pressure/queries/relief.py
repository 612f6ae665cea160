"""The relief valves on a keg's lid: for fill and pour, and for what a warm keg does."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import OuterRef, QuerySet, Subquery

from kegsafe.equipment.models import Keg, Service
from kegsafe.frame.rows_as_json import RowsAsJson
from kegsafe.pressure.models import Item
from kegsafe.rules.facts import LidValve


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
    found = [
        LidRelief(str(valve), valve.relief_gauge_pa, valve.service == Service.IN_USE)
        for valve in _fitted().filter(keg=keg)
    ]
    return min(found, key=lambda valve: valve.opens_gauge_pa or Decimal(0), default=None)


def lid_valves(keg: Keg) -> tuple[LidValve, ...]:
    """Return every valve on a keg's lid, in use or not, by name: one query."""
    return tuple(LidValve(str(valve), valve.relief_gauge_pa) for valve in _fitted().filter(keg=keg))


def lid_valve_column(keg: str) -> Subquery:
    """Return the same as a column of a query of kegs, for `lid_valves_of`; `keg` leads to it."""
    valves = _fitted().filter(keg=OuterRef(keg)).order_by().values("keg")
    return Subquery(valves.annotate(rows=RowsAsJson("name", "relief_gauge_pa")).values("rows"))


def lid_valves_of(column: Iterable[tuple[str, float | None]] | None) -> tuple[LidValve, ...]:
    """Read such a column; a JSON number keeps the tenth of a pascal that the record keeps."""
    kind = Item.Kind.RELIEF_VALVE.label
    return tuple(
        LidValve(f"{kind} {name}", None if opens is None else Decimal(str(opens)))
        for name, opens in sorted(column or (), key=lambda row: row[0])
    )


def _fitted() -> QuerySet[Item]:
    return Item.objects.exclude(keg=None).exclude(service=Service.SCRAPPED).order_by("name")
