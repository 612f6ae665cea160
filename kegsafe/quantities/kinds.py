"""What a quantity can be, and the shape of the one table that describes it.

The rows themselves are in `table.py`: who must add a unit word adds it there.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Literal

UnitSystem = Literal["metric", "us"]


class Kind(StrEnum):
    """One kind of quantity. Gauge and absolute pressure are two kinds, everywhere."""

    VOLUME = "volume"
    ROOM_VOLUME = "room_volume"
    MASS = "mass"
    COUNT = "count"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature_difference"
    GAUGE_PRESSURE = "gauge_pressure"
    ABSOLUTE_PRESSURE = "absolute_pressure"
    PRESSURE_DIFFERENCE = "pressure_difference"
    LENGTH = "length"
    ALTITUDE = "altitude"
    AREA = "area"
    TIME = "time"
    SPEED = "speed"
    FLOW = "flow"
    LEAK_RATE = "leak_rate"
    AIR_CHANGES = "air_changes"
    CONCENTRATION = "concentration"
    SANITISER_STRENGTH = "sanitiser_strength"
    VOLUME_FRACTION = "volume_fraction"
    MASS_FRACTION = "mass_fraction"
    PERCENT = "percent"
    FRACTION = "fraction"
    GAS_FRACTION = "gas_fraction"
    FILLING_RATIO = "filling_ratio"
    DENSITY = "density"
    ALCOHOL = "alcohol"
    SUGAR = "sugar"
    CO2_VOLUMES = "co2_volumes"
    PH = "ph"
    WATER_ACTIVITY = "water_activity"
    NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit and every word people write for it.

    `name` is what pint calls it, from this table and never from a person;
    None where pint knows nothing of the sort (Brix, pH, a piece).
    `times` such units are meant by one word: a dash is 0.8 `milliliter`.
    The first word is the one shown. Case, spaces, full stops and round brackets
    do not count.
    """

    name: str | None
    words: tuple[str, ...]
    times: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class Step:
    """From `at_least` (in the base unit) upwards, show `word` with `decimals`."""

    at_least: Decimal
    word: str
    decimals: int


@dataclass(frozen=True, slots=True)
class KindRow:
    """Everything the project knows about one kind of quantity."""

    kind: Kind
    noun: str  # with its article: "a gauge reading"
    base: str  # the word that `write_exact` prints and `read` reads back
    lowest: Decimal  # in the base unit, allowed
    highest: Decimal  # in the base unit, allowed
    examples: tuple[str, ...]
    units: tuple[Unit, ...]
    metric: tuple[Step, ...]
    us: tuple[Step, ...]
    too_low: str = ""  # why nothing lies below `lowest`; default: it cannot be negative
    bare_number: bool = False  # a number without a unit is meant: pH, water activity
    has_zero_offset: bool = False  # temperatures: degC and degF have different zeros
    says: str = ""  # written behind the units: "gauge"
    clear_example: str = ""  # where other kinds are welcome too; default: the first example
    refused: dict[str, str] = field(default_factory=dict)  # unit word -> why not


def steps(*rows: tuple[str, str, int]) -> tuple[Step, ...]:
    """A ladder of units to show, smallest first: (at least, word, decimals)."""
    return tuple(Step(Decimal(at_least), word, decimals) for at_least, word, decimals in rows)


def always(word: str, decimals: int) -> tuple[Step, ...]:
    """One unit at every size."""
    return steps(("0", word, decimals))
