"""Rows for what a thermometer and a gauge show. Gauge and absolute never mix."""

from decimal import Decimal

from kegsafe.quantities.kinds import Kind, KindRow, Unit, always, steps

D = Decimal
ZERO = D(0)

NO_UNIT_LETTER = "A degree sign alone does not say Celsius or Fahrenheit."
CELSIUS_WORDS = (
    "°C", "C", "degC", "deg C", "celsius", "degrees C", "degrees celsius",
    "degree celsius", "centigrade",
)  # fmt: skip
FAHRENHEIT_WORDS = (
    "°F", "F", "degF", "deg F", "fahrenheit", "degrees F", "degrees fahrenheit",
    "degree fahrenheit",
)  # fmt: skip
KELVIN_WORDS = ("K", "kelvin")

TEMPERATURE = KindRow(
    kind=Kind.TEMPERATURE,
    noun="a temperature",
    base="°C",
    lowest=D("-273.15"),
    highest=D(1000),
    examples=("2 °C", "36 °F"),
    units=(
        Unit("degC", CELSIUS_WORDS),
        Unit("degF", FAHRENHEIT_WORDS),
        Unit("kelvin", KELVIN_WORDS),
    ),
    metric=always("°C", 1),
    us=always("°F", 1),
    too_low="is below absolute zero, -273.15 °C",
    has_zero_offset=True,
    refused={"°": NO_UNIT_LETTER, "deg": NO_UNIT_LETTER, "degrees": NO_UNIT_LETTER},
)
TEMPERATURE_DIFFERENCE = KindRow(
    kind=Kind.TEMPERATURE_DIFFERENCE,
    noun="a difference between temperatures",
    base="K",
    lowest=D(-1000),
    highest=D(1000),
    examples=("3 °C", "5 °F"),
    units=(
        Unit("kelvin", KELVIN_WORDS),
        Unit("delta_degC", CELSIUS_WORDS),
        Unit("delta_degF", FAHRENHEIT_WORDS),
    ),
    metric=always("°C", 1),
    us=always("°F", 1),
    too_low="is a larger drop than any two temperatures here can differ by",
    refused={"°": NO_UNIT_LETTER, "deg": NO_UNIT_LETTER, "degrees": NO_UNIT_LETTER},
)

PRESSURE_NAMES = (
    ("pound_force_per_square_inch", ("psi", "lb/in2", "lbs/in2", "lbf/in2")),
    ("bar", ("bar", "bars")),
    ("millibar", ("mbar", "millibar")),
    ("kilopascal", ("kPa",)),
    ("megapascal", ("MPa",)),  # nobody in a bar means millipascals
    ("hectopascal", ("hPa",)),
    ("pascal", ("Pa", "pascal", "pascals")),
)
MERCURY_NAMES = (("inch_Hg", ("inHg", "in Hg")), ("millimeter_Hg", ("mmHg", "mm Hg")))


def _marked(words: tuple[str, ...], letter: str, *marks: str) -> tuple[str, ...]:
    """Each word with its letter and its marks behind it: psi -> psig, psi gauge."""
    return tuple(f"{word}{tail}" for word in words for tail in (*(f" {m}" for m in marks), letter))


GAUGE_MARKS = ("gauge", "gage", "ga", "-g")
ABSOLUTE_MARKS = ("absolute", "abs", "-a")
GAUGE_UNITS = tuple(Unit(n, (*w, *_marked(w, "g", *GAUGE_MARKS))) for n, w in PRESSURE_NAMES)
ABSOLUTE_UNITS = tuple(
    Unit(n, _marked(w, "a", *ABSOLUTE_MARKS)) for n, w in (*PRESSURE_NAMES, *MERCURY_NAMES)
)
NOT_SAID = "The unit must say gauge or absolute, and here it does not."

GAUGE_PRESSURE = KindRow(
    kind=Kind.GAUGE_PRESSURE,
    noun="a gauge reading",
    base="Pa gauge",
    lowest=D(-101_325),
    highest=D(100_000_000),
    examples=("50 psi", "3.45 bar"),
    clear_example="50 psig",
    units=GAUGE_UNITS,
    metric=steps(("0", "kPa", 2), ("10000", "bar", 2)),
    us=always("psi", 1),
    too_low="is below a full vacuum, -1.01 bar on a gauge",
    says="gauge",
)
ABSOLUTE_PRESSURE = KindRow(
    kind=Kind.ABSOLUTE_PRESSURE,
    noun="an absolute pressure",
    base="Pa absolute",
    lowest=ZERO,
    highest=D(100_101_325),
    examples=("14.7 psia", "101.3 kPa abs"),
    units=ABSOLUTE_UNITS,
    metric=steps(("0", "kPa", 2), ("10000", "bar", 3)),
    us=always("psi", 2),
    too_low="is below a full vacuum, 0 bar absolute",
    says="absolute",
    refused={word: NOT_SAID for _, words in (*PRESSURE_NAMES, *MERCURY_NAMES) for word in words},
)
PRESSURE_DIFFERENCE = KindRow(
    kind=Kind.PRESSURE_DIFFERENCE,
    noun="a difference between pressures",
    base="Pa",
    lowest=D(-100_000_000),
    highest=D(100_000_000),
    examples=("2 psi", "0.14 bar"),
    units=tuple(Unit(n, w) for n, w in (*PRESSURE_NAMES, *MERCURY_NAMES)),
    metric=steps(("0", "kPa", 2), ("10000", "bar", 2)),
    us=always("psi", 2),
    too_low="is a larger drop than any two pressures here can differ by",
)
