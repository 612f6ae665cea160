"""What a filled keg does by physics: how much CO2 the drink takes up, what warmth does to it."""

from dataclasses import dataclass
from decimal import Decimal

from kegsafe.batches.models import Fill
from kegsafe.science.carbonation import Carbonation, carbonation
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.sugar import brix_from_sugar_g_per_l
from kegsafe.science.warm_up import LiquidFull, SealedKeg, warm_up

WARM_DEGC = (25.0, 35.0)  # a warm room and a hot one
_PA_PER_BAR = Decimal(100_000)


@dataclass(frozen=True, slots=True)
class WarmKeg:
    """The keg shut off and warmed. Pressures gauge, in Pa; None where the science gives none."""

    temperature_degc: float
    gauge_pa: float | None
    is_over_rating: bool
    trouble: str


@dataclass(frozen=True, slots=True)
class Gas:
    """Carbonation at equilibrium, and the keg when warmed.

    `trouble` says why no number is given. `counts_as_water` is true where
    alcohol or sugar is not known: water takes up the most.
    """

    carbonation: Carbonation | None
    counts_as_water: bool
    trouble: str
    warm: tuple[WarmKeg, ...]


def gas_of(fill: Fill) -> Gas:
    """Return what the drink takes up at its set pressure, and what warmth does to the keg.

    Sea level is taken for the bar's altitude: higher up the same gauge reading holds less gas.
    """
    gauge_bar = float(fill.set_gauge_pa / _PA_PER_BAR)
    abv, sugar = fill.batch.abv_percent, fill.batch.sugar_g_per_l
    is_known = abv is not None and sugar is not None
    try:
        dissolved = carbonation(
            float(fill.liquid_temperature_degc),
            gauge_bar,
            brix=brix_from_sugar_g_per_l(float(sugar)) if is_known else 0.0,
            abv_percent=float(abv) if is_known else 0.0,
        )
        trouble = ""
    except OutsideRange as outside:
        dissolved, trouble = None, str(outside)
    return Gas(dissolved, not is_known, trouble, tuple(_warm(fill, t) for t in WARM_DEGC))


def _warm(fill: Fill, temperature_degc: float) -> WarmKeg:
    rated = fill.keg.rated_gauge_pa
    try:
        keg = SealedKeg(
            keg_volume_l=float(fill.keg.capacity_ml) / 1000.0,
            liquid_volume_l=float(fill.volume_ml) / 1000.0,
            temperature_degc=float(fill.liquid_temperature_degc),
            gauge_bar=float(fill.set_gauge_pa / _PA_PER_BAR),
        )
        warm = warm_up(
            keg,
            temperature_degc,
            rated_gauge_bar=None if rated is None else float(rated / _PA_PER_BAR),
        )
    except (OutsideRange, LiquidFull) as trouble:
        return WarmKeg(temperature_degc, None, isinstance(trouble, LiquidFull), str(trouble))
    return WarmKeg(
        temperature_degc,
        warm.cautious_gauge_bar * float(_PA_PER_BAR),
        warm.passes_rating is not False,
        "",
    )
