"""What a filled keg does by physics, and which gas touched its drink.

How much CO2 the drink takes up, how far warmth drives the pressure, from which temperature the
keg passes its rating or is full of liquid, and whether the relief valve on its lid would open.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from kegsafe.batches.models import Batch, Fill
from kegsafe.equipment.models import Keg
from kegsafe.pressure.queries import GasBehind, LidRelief, OnGas, gas_reaching, lid_relief
from kegsafe.science.carbonation import Carbonation, carbonation
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.sugar import brix_from_sugar_g_per_l
from kegsafe.science.warm_up import (
    CAUTION,
    HIGHEST_DEGC,
    LEAST_GAP,
    Crossing,
    LiquidFull,
    SealedKeg,
    warm_up,
)

WARM_DEGC = (25.0, 35.0)  # a warm room and a hot one
_PA_PER_BAR = Decimal(100_000)
_ML_PER_L = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderGas:
    """A keg with a drink under gas. Volumes in ml, pressures gauge in Pa; None: not recorded."""

    keg_ml: Decimal
    drink_ml: Decimal
    temperature_degc: Decimal
    set_gauge_pa: Decimal
    rated_gauge_pa: Decimal | None
    abv_percent: Decimal | None
    sugar_g_per_l: Decimal | None
    relief: LidRelief | None


@dataclass(frozen=True, slots=True)
class WarmKeg:
    """The keg shut off and warmed. Pressures gauge, in Pa; None where the science gives none.

    `opens_relief` is None where there is no relief valve whose setting is on record.
    """

    temperature_degc: float
    gauge_pa: float | None
    is_over_rating: bool
    opens_relief: bool | None
    trouble: str


@dataclass(frozen=True, slots=True)
class Marks:
    """Where warmth brings a keg that is shut off, from its first temperature upwards.

    `rating_at` holds the caution of ten per cent, so that it comes early; `relief_at` is the
    best guess, so that nobody counts on a valve that opens later. None: no rating, no setting.
    `is_relief_late` says that the valve opens above what the keg is rated for.
    """

    rating_at: Crossing | None
    relief_at: Crossing | None
    is_relief_late: bool
    liquid_full_at: Crossing
    hottest_degc: float
    most_drink_ml: float
    least_gap_ml: float
    has_gap: bool


@dataclass(frozen=True, slots=True)
class Gas:
    """Carbonation at equilibrium, and the keg when warmed.

    `trouble` says why no number is given. `counts_as_water` is true where
    alcohol or sugar is not known: water takes up the most.
    """

    keg: UnderGas
    carbonation: Carbonation | None
    counts_as_water: bool
    trouble: str
    warm: tuple[WarmKeg, ...]
    marks: Marks | None


def gas_of(fill: Fill) -> Gas:
    """Return what a fill takes up at its set pressure, and what warmth does to it: one query."""
    return gas_in(
        keg=fill.keg,
        batch=fill.batch,
        volume_ml=fill.volume_ml,
        temperature_degc=fill.liquid_temperature_degc,
        set_gauge_pa=fill.set_gauge_pa,
    )


def gas_in(
    *,
    keg: Keg,
    batch: Batch,
    volume_ml: Decimal,
    temperature_degc: Decimal,
    set_gauge_pa: Decimal,
) -> Gas:
    """Return the same of a fill that is, or that somebody wants to make: one query.

    Sea level is taken for the bar's altitude: higher up the same gauge reading holds less gas.
    """
    return under_gas(
        UnderGas(
            keg_ml=keg.capacity_ml,
            drink_ml=volume_ml,
            temperature_degc=temperature_degc,
            set_gauge_pa=set_gauge_pa,
            rated_gauge_pa=keg.rated_gauge_pa,
            abv_percent=batch.abv_percent,
            sugar_g_per_l=batch.sugar_g_per_l,
            relief=lid_relief(keg),
        )
    )


def under_gas(keg: UnderGas) -> Gas:
    """Return what a keg's drink takes up and what warmth does to it; no query."""
    is_known = keg.abv_percent is not None and keg.sugar_g_per_l is not None
    try:
        dissolved = carbonation(
            float(keg.temperature_degc),
            _bar(keg.set_gauge_pa),
            brix=brix_from_sugar_g_per_l(float(keg.sugar_g_per_l)) if is_known else 0.0,
            abv_percent=float(keg.abv_percent) if is_known else 0.0,
        )
        trouble = ""
    except OutsideRange as outside:
        dissolved, trouble = None, str(outside)
    warm = tuple(_warm(keg, degc) for degc in WARM_DEGC)
    return Gas(keg, dissolved, not is_known, trouble, warm, _marks(keg))


def gas_behind_fills(fill_ids: Collection[int]) -> dict[int, tuple[GasBehind, ...]]:
    """Return the gas that touched each fill, by the fill's key: five queries for any number.

    Carbonating and pushing both count: every cylinder whose gas reached the keg from the fill
    until it was empty, with lot, supplier and certificate. `GasBehind.reached_at(filled_at)`
    says which hung on it at the filling itself. An empty tuple: nothing on record was connected.
    """
    rows = Fill.objects.filter(pk__in=fill_ids).values_list(
        "pk", "keg", "filled_at", "state", "state_at"
    )
    return gas_reaching(
        OnGas(key, keg, filled_at, None if state in Fill.OPEN_STATES else state_at)
        for key, keg, filled_at, state, state_at in rows
    )


@dataclass(frozen=True, slots=True)
class GasOnFill:
    """One lot of gas in one cylinder, and each time its gas was on the keg: since and until."""

    gas: GasBehind
    spells: tuple[tuple[datetime, datetime | None], ...]


def each_lot_once(behind: Iterable[GasBehind]) -> tuple[GasOnFill, ...]:
    """Return each lot once, however often the keg hung on it; no query."""
    lots: dict[tuple[int, int | None], list[GasBehind]] = {}
    for gas in behind:
        lots.setdefault((gas.cylinder, gas.gas_fill), []).append(gas)
    return tuple(
        GasOnFill(found[0], tuple((gas.reached_since, gas.reached_until) for gas in found))
        for found in lots.values()
    )


def _warm(keg: UnderGas, temperature_degc: float) -> WarmKeg:
    relief = _relief_pa(keg)
    try:
        warm = warm_up(
            _sealed(keg),
            temperature_degc,
            rated_gauge_bar=_bar_or_none(keg.rated_gauge_pa),
            relief_gauge_bar=_bar_or_none(relief),
        )
    except (OutsideRange, LiquidFull) as trouble:
        is_full = isinstance(trouble, LiquidFull)
        return WarmKeg(temperature_degc, None, is_full, None, str(trouble))
    return WarmKeg(
        temperature_degc,
        warm.cautious_gauge_bar * float(_PA_PER_BAR),
        warm.passes_rating is not False,
        None if relief is None else warm.gauge_bar >= _bar(relief),
        "",
    )


def _marks(keg: UnderGas) -> Marks | None:
    relief, rated = _relief_pa(keg), keg.rated_gauge_pa
    least_gap_ml = LEAST_GAP * float(keg.keg_ml)
    try:
        sealed = _sealed(keg)
        return Marks(
            rating_at=None if rated is None else sealed.reaches(_bar(rated), CAUTION),
            relief_at=None if relief is None else sealed.reaches(_bar(relief)),
            is_relief_late=None not in (relief, rated) and relief > rated,
            liquid_full_at=sealed.liquid_full_at(),
            hottest_degc=HIGHEST_DEGC,
            most_drink_ml=sealed.fill_limit_l(HIGHEST_DEGC) * _ML_PER_L,
            least_gap_ml=least_gap_ml,
            has_gap=float(keg.keg_ml - keg.drink_ml) >= least_gap_ml,
        )
    except OutsideRange:
        return None


def _sealed(keg: UnderGas) -> SealedKeg:
    return SealedKeg(
        keg_volume_l=float(keg.keg_ml) / _ML_PER_L,
        liquid_volume_l=float(keg.drink_ml) / _ML_PER_L,
        temperature_degc=float(keg.temperature_degc),
        gauge_bar=_bar(keg.set_gauge_pa),
    )


def _relief_pa(keg: UnderGas) -> Decimal | None:
    """Return when the valve on the lid opens; one that is not in use is not counted on."""
    return keg.relief.opens_gauge_pa if keg.relief and keg.relief.in_use else None


def _bar(pa: Decimal) -> float:
    return float(pa / _PA_PER_BAR)


def _bar_or_none(pa: Decimal | None) -> float | None:
    return None if pa is None else _bar(pa)
