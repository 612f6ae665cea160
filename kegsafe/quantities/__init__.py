"""The one module that reads what people type and writes what they see.

Number and unit are split and checked here; pint converts behind it and sees no raw
text. Values are decimals in one base unit per kind, listed in `table.py`.
"""

from kegsafe.quantities.kinds import Kind, UnitSystem
from kegsafe.quantities.measuring import Measured, as_measured, rounded_as_measured
from kegsafe.quantities.quantity import Quantity, in_unit
from kegsafe.quantities.reading import read
from kegsafe.quantities.refusals import (
    AmbiguousUnit,
    MissingUnit,
    NotANumber,
    OutOfRange,
    RefusedUnit,
    TooLong,
    UnknownUnit,
    UnreadableQuantity,
    WrongKind,
)
from kegsafe.quantities.table import ROWS
from kegsafe.quantities.writing import write, write_exact

__all__ = [
    "ROWS",
    "AmbiguousUnit",
    "Kind",
    "Measured",
    "MissingUnit",
    "NotANumber",
    "OutOfRange",
    "Quantity",
    "RefusedUnit",
    "TooLong",
    "UnitSystem",
    "UnknownUnit",
    "UnreadableQuantity",
    "WrongKind",
    "as_measured",
    "in_unit",
    "read",
    "rounded_as_measured",
    "write",
    "write_exact",
]
