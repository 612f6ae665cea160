"""The working solution for this line or keg, ready to measure: concentrate and water.

The label comes before any arithmetic, and a strip after it. Caution beside every dose:
concentrate into water, one product at a time, never acid with chlorine.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from kegsafe.rules.cleaning.guidance import amount
from kegsafe.science.dilution import dose, strength_mg_per_l
from kegsafe.science.line_hydraulics import line_volume_ml

_FINE_BELOW_ML = Decimal(50)  # a syringe; above it a measuring jug
_FINE_STEP_ML, _COARSE_STEP_ML = Decimal("0.5"), Decimal(5)
_WATER_STEP_ML = Decimal(10)


class CannotMix(ValueError):
    """No measurable dose gives a strength inside the limits; the message says what would."""


@dataclass(frozen=True, slots=True)
class Mix:
    """What to measure, and the strength that it gives."""

    concentrate_ml: Decimal
    water_ml: Decimal
    strength_mg_per_l: Decimal

    @property
    def in_words(self) -> str:
        """Return the dose as the page prints it."""
        return (
            f"{self.concentrate_ml.normalize():f} ml of concentrate into "
            f"{self.water_ml.normalize():f} ml of water: {self.strength_words}"
        )

    @property
    def strength_words(self) -> str:
        """Return the strength that the measures give, as a page prints it."""
        return amount(self._rounded, "mg/l")

    @property
    def _rounded(self) -> Decimal:
        places = Decimal(100) if self.strength_mg_per_l >= 10_000 else Decimal(1)
        return (self.strength_mg_per_l / places).quantize(Decimal(1), ROUND_HALF_UP) * places


def line_solution_ml(
    length_m: Decimal, bore_mm: Decimal, fittings_ml: Decimal, in_the_bucket_ml: Decimal
) -> Decimal:
    """Return the solution that a line and the bucket in its circuit take, ml.

    Raises OutsideRange where a length, bore or volume is none a bar has. A line of unknown
    length or bore has no volume: measure it with a jug.
    """
    line_ml = line_volume_ml(float(length_m), float(bore_mm), float(fittings_ml))
    return Decimal(str(round(line_ml, 1))) + in_the_bucket_ml


def mix(
    total_ml: Decimal,
    stock_mg_per_l: Decimal,
    minimum_mg_per_l: Decimal,
    maximum_mg_per_l: Decimal | None,
) -> Mix:
    """Return a dose a person can measure whose strength is inside the limits.

    It aims at the middle of the range, never at its top; without a top, at a tenth above the
    least. Both measures are rounded to what a syringe or a jug shows.

    Raises CannotMix where the stock is too weak, or the volume too small to measure; and
    OutsideRange for numbers that no bar has.
    """
    maximum = maximum_mg_per_l
    target = (
        minimum_mg_per_l * Decimal("1.1") if maximum is None else (minimum_mg_per_l + maximum) / 2
    )
    if stock_mg_per_l < target:
        raise CannotMix(
            f"The concentrate holds {amount(stock_mg_per_l, 'mg/l')}, weaker than the "
            f"{amount(target, 'mg/l')} to make. Check its strength on the label."
        )
    exact = dose(float(stock_mg_per_l), float(target), float(total_ml))
    for rounding in (ROUND_HALF_UP, ROUND_FLOOR, ROUND_CEILING):
        found = _measured(exact.concentrate_ml, total_ml, stock_mg_per_l, rounding)
        if found is not None and _is_inside(found.strength_mg_per_l, minimum_mg_per_l, maximum):
            return found
    raise CannotMix(
        f"{amount(total_ml, 'ml')} is too little to measure so small a dose. Make a larger volume."
    )


def _measured(
    concentrate_ml: float, total_ml: Decimal, stock_mg_per_l: Decimal, rounding: str
) -> Mix | None:
    wanted = Decimal(str(concentrate_ml))
    step = _FINE_STEP_ML if wanted < _FINE_BELOW_ML else _COARSE_STEP_ML
    poured = (wanted / step).quantize(Decimal(1), rounding) * step
    water = ((total_ml - poured) / _WATER_STEP_ML).quantize(Decimal(1), ROUND_CEILING)
    water *= _WATER_STEP_ML
    if poured <= 0 or water < 0:
        return None
    strength = strength_mg_per_l(float(stock_mg_per_l), float(poured), float(water))
    return Mix(poured, water, Decimal(str(round(strength, 1))))


def _is_inside(strength: Decimal, minimum: Decimal, maximum: Decimal | None) -> bool:
    return minimum <= strength and (maximum is None or strength <= maximum)
