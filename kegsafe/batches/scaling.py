"""A recipe proved as a small test batch, brought to the volume that fills kegs.

The exact figure is kept beside the one a bar can measure. No Django, no rounding but the last.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal

from kegsafe.quantities import ROWS, Kind, Measured, UnitSystem, rounded_as_measured
from kegsafe.quantities.writing import plain, with_word
from kegsafe.rules.practice import practice

_WIDE = Context(prec=40, rounding=ROUND_HALF_EVEN)
_ONE_HUNDRED = Decimal(100)


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount of a recipe in the base unit of its kind: ml, g or pieces."""

    value: Decimal
    kind: Kind


@dataclass(frozen=True, slots=True)
class ScaledAmount:
    """What to measure, and the exact figure behind it."""

    exact: Decimal
    measured: Measured
    exact_text: str

    @property
    def rounding_percent(self) -> Decimal:
        """Return by how much measuring departs from the recipe, in % of the exact amount."""
        return _WIDE.divide((self.measured.value - self.exact) * _ONE_HUNDRED, self.exact)


def scale(
    amounts: Iterable[Amount], test_volume_ml: Decimal, target_ml: Decimal, units: UnitSystem
) -> list[ScaledAmount]:
    """Bring a test batch to a volume: each amount exactly, and as the bar measures it.

    test_volume_ml, target_ml : above 0

    Raises ValueError for a volume that is not above 0.
    """
    if test_volume_ml <= 0 or target_ml <= 0:
        raise ValueError(f"volumes must be above 0, got {test_volume_ml} and {target_ml} ml")
    return [_scaled(amount, test_volume_ml, target_ml, units) for amount in amounts]


def volume_for_kegs(kegs: int, capacity_ml: Decimal, fill_percent: Decimal) -> Decimal:
    """Return the ml that fill so many kegs to a level.

    kegs : 1 or more
    capacity_ml : of one keg, above 0
    fill_percent : above 0, at most `highest_fill_percent()`

    Raises ValueError for anything else.
    """
    if kegs < 1 or capacity_ml <= 0:
        raise ValueError(f"{kegs} kegs of {capacity_ml} ml hold nothing")
    if not 0 < fill_percent <= highest_fill_percent():
        raise ValueError(f"a keg is filled to more than 0 and at most {highest_fill_percent()} %")
    return _WIDE.divide(kegs * capacity_ml * fill_percent, _ONE_HUNDRED)


def highest_fill_percent() -> Decimal:
    """Return how full a keg may be, in % of its capacity: the rest is head space."""
    return _ONE_HUNDRED - practice("fill.minimum_head_space").value


def _scaled(
    amount: Amount, test_volume_ml: Decimal, target_ml: Decimal, units: UnitSystem
) -> ScaledAmount:
    exact = _WIDE.divide(_WIDE.multiply(amount.value, target_ml), test_volume_ml)
    return ScaledAmount(
        exact=exact,
        measured=rounded_as_measured(exact, amount.kind, units),
        exact_text=_exactly(exact, amount.kind),
    )


def _exactly(value: Decimal, kind: Kind) -> str:
    """Return the exact figure to a hundredth of its base unit: closer than any bar measures."""
    return with_word(plain(value.quantize(Decimal("0.01"))), ROWS[kind].base)
