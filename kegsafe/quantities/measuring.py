"""A scaled amount as a bar measures it: in jiggers and jugs, not to the last decimal.

The exact figure stays with the caller; this is what to reach for. The steps are
common practice, no source. Nothing is ever rounded away: a dash of something with an
allergen in it stays on the list.
"""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import NamedTuple

from kegsafe.quantities.kinds import Kind, UnitSystem
from kegsafe.quantities.table import ROWS
from kegsafe.quantities.typed_numbers import EXACT
from kegsafe.quantities.units import from_base, to_base, unit_called
from kegsafe.quantities.writing import as_decimal, plain, with_word, write


class Measured(NamedTuple):
    """What to measure: `value` in the kind's base unit, and its text."""

    value: Decimal
    text: str


class _Ladder(NamedTuple):
    """Steps to round to below each size, and the larger unit to pour it from."""

    unit: str
    steps: tuple[tuple[Decimal, Decimal], ...]  # (below this, to the nearest that)
    large_unit: str
    large_holds: Decimal  # small units in one large unit
    is_split: bool  # 2 gal 47 fl oz, against 1.25 L


_D = Decimal
_FOREVER = _D("Infinity")
_LADDERS: dict[tuple[Kind, UnitSystem], _Ladder] = {
    (Kind.VOLUME, "metric"): _Ladder(
        "ml",
        ((_D(1), _D("0.1")), (_D(50), _D(1)), (_D(1000), _D(5)), (_FOREVER, _D(10))),
        "L", _D(1000), False,
    ),
    (Kind.VOLUME, "us"): _Ladder(
        "fl oz",
        ((_D("0.5"), _D("0.125")), (_D(32), _D("0.25")), (_FOREVER, _D(1))),
        "gal", _D(128), True,
    ),
    (Kind.MASS, "metric"): _Ladder(
        "g",
        ((_D(10), _D("0.1")), (_D(500), _D(1)), (_FOREVER, _D(5))),
        "kg", _D(1000), False,
    ),
    (Kind.MASS, "us"): _Ladder(
        "oz",
        ((_D("0.5"), _D("0.125")), (_FOREVER, _D("0.25"))),
        "lb", _D(16), True,
    ),
    (Kind.COUNT, "metric"): _Ladder(
        "pieces", ((_D(10), _D("0.5")), (_FOREVER, _D(1))), "pieces", _FOREVER, False
    ),
}  # fmt: skip


def as_measured(ml: Decimal, units: UnitSystem) -> str:
    """A volume as the bar measures it: 1 1/2 fl oz, 45 ml, 1.25 L.

    ml : millilitres, 0 or more
    """
    return rounded_as_measured(ml, Kind.VOLUME, units).text


def rounded_as_measured(value: Decimal | float, kind: Kind, units: UnitSystem) -> Measured:
    """The amount to measure for an exact one.

    value : 0 or more, in the kind's base unit: ml, g or pieces

    Millilitres go to the nearest 1 below 50, 5 below a litre, 10 above; grams to 0.1
    below 10, 1 below 500, 5 above; US amounts to a quarter ounce (an eighth below half
    an ounce, whole fluid ounces from a quart). Raises ValueError for other kinds and
    for negative values.

    >>> rounded_as_measured(Decimal("44.36"), Kind.VOLUME, "us").text
    '1 1/2 fl oz'
    """
    exact = as_decimal(value)
    ladder = _ladder(kind, units)
    if exact < 0:
        raise ValueError(f"{value}: an amount to measure is 0 or more")
    row = ROWS[kind]
    unit = unit_called(row, ladder.unit)
    rounded = _to_step(from_base(exact, unit, row), ladder)
    if exact and not rounded:
        return Measured(exact, write(exact, kind, units))
    return Measured(to_base(rounded, unit, row), _text(rounded, ladder))


def _ladder(kind: Kind, units: UnitSystem) -> _Ladder:
    found = _LADDERS.get((kind, "metric" if kind is Kind.COUNT else units))
    if found is None:
        raise ValueError(f"{kind} is not measured out for a recipe")
    return found


def _to_step(amount: Decimal, ladder: _Ladder) -> Decimal:
    step = next(step for below, step in ladder.steps if amount < below)
    steps = EXACT.divide(amount, step).quantize(Decimal(1), ROUND_HALF_UP, context=EXACT)
    return EXACT.multiply(steps, step)


def _text(amount: Decimal, ladder: _Ladder) -> str:
    if not ladder.is_split:
        if amount < ladder.large_holds:
            return with_word(plain(amount), ladder.unit)
        return f"{plain(EXACT.divide(amount, ladder.large_holds))} {ladder.large_unit}"
    large, small = EXACT.divmod(amount, ladder.large_holds)
    parts = [f"{large:f} {ladder.large_unit}"] if large else []
    if small or not large:
        parts.append(f"{_mixed(small)} {ladder.unit}")
    return " ".join(parts)


def _mixed(amount: Decimal) -> str:
    """1 1/2 and not 1.5: the marks on a jigger."""
    whole, rest = divmod(Fraction(amount), 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)
