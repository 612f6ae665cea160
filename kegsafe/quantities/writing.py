"""Write a quantity for people: in the venue's units, in both, or exactly."""

from decimal import ROUND_HALF_UP, Context, Decimal

from kegsafe.quantities.kinds import Kind, KindRow, Step, UnitSystem
from kegsafe.quantities.quantity import Quantity
from kegsafe.quantities.table import ROWS
from kegsafe.quantities.units import from_base, unit_called

_ROUNDING = Context(prec=60, rounding=ROUND_HALF_UP)
_ONE_OF = {"pieces": "piece", "volumes": "volume", "days": "day"}
_FEWEST_FIGURES = Context(prec=2, rounding=ROUND_HALF_UP)


def write(value: Decimal | float, kind: Kind, units: UnitSystem, *, both: bool = False) -> str:
    """A value for people, rounded for the trade; never for reckoning on.

    value : in the kind's base unit (see `table.py`)
    units : "metric" or "us"; `both` adds the other in brackets where it differs

    Temperatures keep a tenth in both systems, so that no reading above a limit is
    shown as the limit itself. Raises ValueError for NaN or infinity.

    >>> write(Decimal(19000), Kind.VOLUME, "metric", both=True)
    '19 L (5.02 gal)'
    """
    exact = as_decimal(value)
    row = ROWS[kind]
    text = _in_system(exact, row, units)
    other = _in_system(exact, row, "us" if units == "metric" else "metric")
    if both and other != text:
        text = f"{text} ({other})"
    return f"{text} {row.says}".strip()


def write_exact(quantity: Quantity) -> str:
    """The quantity in its base unit with nothing lost: `read` gives the same quantity back."""
    return f"{quantity.value:f} {ROWS[quantity.kind].base}".strip()


def as_decimal(value: Decimal | float) -> Decimal:
    """The shortest decimal that a float prints as. Raises ValueError for NaN and infinity."""
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    if not exact.is_finite():
        raise ValueError(f"{value} is not a quantity")
    return exact


def plain(value: Decimal) -> str:
    """A decimal without exponent or idle zeros: 19, not 19.00 or 1.9E+1."""
    text = f"{value:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def with_word(figure: str, word: str) -> str:
    """A figure and its unit word: 2 pieces, 1 piece, 12."""
    return f"{figure} {_ONE_OF.get(word, word) if figure == '1' else word}".strip()


def _in_system(value: Decimal, row: KindRow, units: UnitSystem) -> str:
    step = _step(value, row.metric if units == "metric" else row.us)
    unit = unit_called(row, f"{step.word} {row.says}")
    figure = _rounded(from_base(value, unit, row), step.decimals, row)
    return with_word(plain(figure), step.word)


def _step(value: Decimal, ladder: tuple[Step, ...]) -> Step:
    fitting = [step for step in ladder if step.at_least <= abs(value)]
    return fitting[-1]


def _rounded(figure: Decimal, decimals: int, row: KindRow) -> Decimal:
    """To so many decimals, but never to one figure or none: a trace is not nothing."""
    rounded = figure.quantize(Decimal(1).scaleb(-decimals), context=_ROUNDING)
    if row.has_zero_offset or len(rounded.as_tuple().digits) >= 2:
        return rounded
    return _FEWEST_FIGURES.plus(figure)
