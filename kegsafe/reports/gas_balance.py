"""What a cylinder lost on the scale, against what the fills and the pouring should have taken.

It stands above batches and pressure, as it needs both: the fills, and which kegs hung on
the cylinder's gas between two weighings.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from kegsafe.batches.models import Fill
from kegsafe.equipment.models import Keg
from kegsafe.pressure.models import Item
from kegsafe.pressure.queries import kegs_served
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pressure.leak import judge_gas_balance
from kegsafe.science.carbonation import carbonation
from kegsafe.science.cylinders import KegGas, gas_for_keg
from kegsafe.science.ranges import OutsideRange

_PA_PER_BAR = 100_000.0


@dataclass(frozen=True, slots=True)
class Balance:
    """A cylinder between its last two weighings. Masses in g; `kegs` by name.

    `filled` and `ended` count the fills made and the kegs poured or thrown out in that time.
    `uncertainty_g` holds both weighings, and the gas that kegs still on may have taken.
    """

    since: datetime
    until: datetime
    kegs: tuple[str, ...]
    used_g: float
    filled: int
    dissolved_g: float
    ended: int
    push_g: float
    uncertainty_g: float
    findings: tuple[Finding, ...]


def balance_of(cylinder: Item) -> Balance | None:
    """Return the balance between the last two weighings, None where there are not two."""
    weighings = list(cylinder.weighings.all()[:2])
    if len(weighings) < 2:
        return None
    last, first = weighings
    since, until = first.weighed_at, last.weighed_at
    kegs = kegs_served(cylinder, since, until)
    fills = _fills(kegs, since, until)
    made = [fill for fill in fills if fill.filled_at >= since]
    ended = [fill for fill in fills if _was_out(fill, until)]
    still_on = [fill for fill in fills if not _was_out(fill, until)]
    dissolved = sum(gas.dissolved_g for gas in _gas(made))
    push = sum(gas.push_g for gas in _gas(ended))
    uncertainty = math.hypot(float(first.uncertainty_g), float(last.uncertainty_g))
    uncertainty += sum(gas.push_g for gas in _gas(still_on))
    used = float(first.gross_g - last.gross_g)
    judged = judge_gas_balance(used_g=used, expected_g=dissolved + push, uncertainty_g=uncertainty)
    return Balance(
        since=since,
        until=until,
        kegs=tuple(keg.name for keg in kegs),
        used_g=used,
        filled=len(made),
        dissolved_g=dissolved,
        ended=len(ended),
        push_g=push,
        uncertainty_g=uncertainty,
        findings=(*_refilled(cylinder, since, until), judged),
    )


def _fills(kegs: Iterable[Keg], since: datetime, until: datetime) -> list[Fill]:
    """Return the fills that were in these kegs at any time between the weighings."""
    begun = Fill.objects.filter(keg__in=kegs, filled_at__lte=until).select_related("keg")
    return list(begun.filter(Q(state__in=Fill.OPEN_STATES) | Q(state_at__gte=since)))


def _was_out(fill: Fill, until: datetime) -> bool:
    is_open = fill.state in Fill.OPEN_STATES
    return not is_open and fill.state_at is not None and fill.state_at <= until


def _gas(fills: Iterable[Fill]) -> Iterable[KegGas]:
    """Yield what each fill takes; one outside the range of the science explains nothing."""
    for fill in fills:
        gauge_bar = float(fill.set_gauge_pa) / _PA_PER_BAR
        degc = float(fill.liquid_temperature_degc)
        try:
            yield gas_for_keg(
                keg_volume_l=float(fill.keg.capacity_ml) / 1000,
                drink_l=float(fill.volume_ml) / 1000,
                temperature_degc=degc,
                added_volumes=carbonation(degc, gauge_bar).volumes,
                push_gauge_bar=gauge_bar,
            )
        except OutsideRange:
            continue


def _refilled(cylinder: Item, since: datetime, until: datetime) -> tuple[Finding, ...]:
    if not cylinder.gas_fills.filter(received_at__gt=since, received_at__lte=until).exists():
        return ()
    statement = (
        "Fresh gas came between the two weighings: they cannot be compared. Weigh a cylinder when "
        "it comes, and again later."
    )
    source = "Record of the equipment"
    return (Finding("balance.refilled", Severity.ASK, statement, source, "venue"),)
