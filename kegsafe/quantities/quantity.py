"""A quantity that has been read: its kind, its value in the base unit, what was typed."""

from dataclasses import dataclass, field
from decimal import Decimal

from kegsafe.quantities.kinds import Kind
from kegsafe.quantities.table import ROWS
from kegsafe.quantities.units import from_base, settle, unit_called


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity. Two are equal when kind and value are, however they were typed.

    value : in the kind's base unit (see `table.py`), settled to twelve figures
    typed : what the person wrote, kept as it was

    Raises ValueError for a value outside the kind's bounds, NaN or infinity.
    """

    kind: Kind
    value: Decimal
    typed: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        row = ROWS[self.kind]
        if not self.value.is_finite() or not row.lowest <= self.value <= row.highest:
            raise ValueError(f"{self.value} {row.base} is outside the bounds of {row.noun}")
        object.__setattr__(self, "value", settle(self.value, row))


def in_unit(quantity: Quantity, word: str) -> Decimal:
    """The quantity's value in another unit of its own kind.

    word : a unit word of the table, such as "L"; for gauge and absolute pressure
        with its mark: "bar gauge". Raises KeyError for any other word.

    >>> in_unit(Quantity(Kind.VOLUME, Decimal(19000)), "L")
    Decimal('19')
    """
    row = ROWS[quantity.kind]
    return from_base(quantity.value, unit_called(row, word), row)
