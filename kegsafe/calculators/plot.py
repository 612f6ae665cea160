"""What a plot shows, before anybody draws it: lines, marks, and the point that was asked for."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from kegsafe.quantities import Kind, UnitSystem, write
from kegsafe.quantities.table import ROWS
from kegsafe.quantities.units import from_base, to_base, unit_called

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Axis:
    """What runs along an axis.

    label : without the unit
    kind : of the quantity; its unit is written behind the label
    unit : of the numbers in the plot
    shown : unit drawn for metric and for US venues
    """

    label: str
    kind: Kind
    unit: str
    shown: tuple[str, str]

    def scale(self, units: UnitSystem) -> tuple[float, float]:
        """Factor and offset from the plot's numbers to the unit that is drawn."""
        at_zero, at_one = (self._drawn(number, units) for number in (0, 1))
        return float(at_one - at_zero), float(at_zero)

    def heading(self, units: UnitSystem) -> str:
        """The label with the unit that is drawn."""
        word = self._word(units)
        return f"{self.label} ({word})" if word else self.label

    def text(self, value: float, units: UnitSystem) -> str:
        """One number of the plot for people."""
        row = ROWS[self.kind]
        base = to_base(Decimal(repr(value)), unit_called(row, self.unit), row)
        return write(base, self.kind, units)

    def _word(self, units: UnitSystem) -> str:
        return self.shown[0] if units == "metric" else self.shown[1]

    def _drawn(self, number: int, units: UnitSystem) -> Decimal:
        row = ROWS[self.kind]
        base = to_base(Decimal(number), unit_called(row, self.unit), row)
        return from_base(base, unit_called(row, self._word(units)), row)


@dataclass(frozen=True, slots=True)
class Line:
    """One curve with its name, in the order it is drawn."""

    name: str
    points: Sequence[Point]


@dataclass(frozen=True, slots=True)
class Level:
    """A mark across the plot at one height: a limit, a rating, a set pressure."""

    name: str
    at: float


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot in numbers.

    sentence : what it shows, for those who do not see it
    point : where the answer lies, with its name
    lowest, highest : ends of the drawing upwards; None takes what lines and marks need
    """

    title: str
    x: Axis
    y: Axis
    lines: Sequence[Line]
    sentence: str
    levels: Sequence[Level] = ()
    point: Point | None = None
    point_name: str = "your figures"
    lowest: float = 0.0
    highest: float | None = None
