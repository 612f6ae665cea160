"""Rows for lines, rooms and times: length, area, duration, speed, flow, leak, air changes."""

from decimal import Decimal

from kegsafe.quantities.kinds import Kind, KindRow, Unit, always, steps

D = Decimal
ZERO = D(0)

METRE_WORDS = ("m", "metre", "metres", "meter", "meters")
FOOT_WORDS = ("ft", "foot", "feet", "'", "′")
LENGTH = KindRow(
    kind=Kind.LENGTH,
    noun="a length",
    base="m",
    lowest=ZERO,
    highest=D(100_000),
    examples=("4.8 mm", "3/16 in"),
    units=(
        Unit("meter", METRE_WORDS),
        Unit("millimeter", ("mm", "millimetre", "millimetres", "millimeter", "millimeters")),
        Unit("centimeter", ("cm", "centimetre", "centimetres", "centimeter", "centimeters")),
        Unit("inch", ("in", "inch", "inches", '"', "″", "''")),
        Unit("foot", FOOT_WORDS),
        Unit("yard", ("yd", "yard", "yards")),
    ),
    metric=steps(("0", "mm", 1), ("1", "m", 2)),
    us=steps(("0", "in", 2), ("0.3048", "ft", 2)),
)
ALTITUDE = KindRow(
    kind=Kind.ALTITUDE,
    noun="a height above the sea",
    base="m",
    lowest=D(-500),
    highest=D(9000),
    examples=("1600 m", "5250 ft"),
    units=(
        Unit("meter", METRE_WORDS),
        Unit("foot", FOOT_WORDS),
        Unit("kilometer", ("km", "kilometre", "kilometres", "kilometer", "kilometers")),
    ),
    metric=always("m", 0),
    us=always("ft", 0),
    too_low="is lower than any land, about -430 m",
)
AREA = KindRow(
    kind=Kind.AREA,
    noun="an area",
    base="m2",
    lowest=ZERO,
    highest=D(1_000_000),
    examples=("12 m2", "130 ft2"),
    units=(
        Unit("meter**2", ("m2", "m^2", "sq m", "square metres", "square meters")),
        Unit("centimeter**2", ("cm2", "cm^2", "sq cm")),
        Unit("millimeter**2", ("mm2", "mm^2", "sq mm")),
        Unit("foot**2", ("ft2", "ft^2", "sq ft", "square feet")),
        Unit("inch**2", ("in2", "in^2", "sq in", "square inches")),
    ),
    metric=steps(("0", "cm2", 2), ("0.1", "m2", 2)),
    us=steps(("0", "in2", 2), ("0.09290304", "ft2", 2)),
)
TIME = KindRow(
    kind=Kind.TIME,
    noun="a length of time",
    base="s",
    lowest=ZERO,
    highest=D(3_200_000_000),
    examples=("10 min", "1.5 h"),
    units=(
        Unit("second", ("s", "sec", "secs", "second", "seconds")),
        Unit("minute", ("min", "mins", "minute", "minutes")),
        Unit("hour", ("h", "hr", "hrs", "hour", "hours")),
        Unit("day", ("d", "day", "days")),
        Unit("week", ("week", "weeks", "wk", "wks")),
    ),
    metric=steps(("0", "s", 1), ("60", "min", 1), ("3600", "h", 1), ("172800", "days", 1)),
    us=steps(("0", "s", 1), ("60", "min", 1), ("3600", "h", 1), ("172800", "days", 1)),
    refused={"month": "Months differ in length.", "months": "Months differ in length."},
)
SPEED = KindRow(
    kind=Kind.SPEED,
    noun="a speed",
    base="m/s",
    lowest=ZERO,
    highest=D(1000),
    examples=("1.5 m/s", "5 ft/s"),
    units=(
        Unit("meter/second", ("m/s", "m/sec")),
        Unit("meter/minute", ("m/min",)),
        Unit("centimeter/second", ("cm/s", "cm/sec")),
        Unit("foot/second", ("ft/s", "ft/sec", "fps")),
        Unit("foot/minute", ("ft/min", "fpm")),
    ),
    metric=always("m/s", 2),
    us=always("ft/s", 2),
)
FLOW = KindRow(
    kind=Kind.FLOW,
    noun="a flow",
    base="L/min",
    lowest=ZERO,
    highest=D(1_000_000),
    examples=("2 L/min", "1 oz/s"),
    units=(
        Unit("liter/minute", ("L/min", "lpm", "litres/min", "liters/min")),
        Unit("liter/second", ("L/s", "L/sec")),
        Unit("liter/hour", ("L/h", "L/hr")),
        Unit("milliliter/second", ("ml/s", "ml/sec")),
        Unit("milliliter/minute", ("ml/min",)),
        Unit("milliliter/hour", ("ml/h", "ml/hr")),
        Unit("meter**3/hour", ("m3/h", "m3/hr")),
        Unit("meter**3/second", ("m3/s",)),
        Unit("fluid_ounce/second", ("fl oz/s", "oz/s", "oz/sec", "fl oz/sec")),
        Unit("fluid_ounce/minute", ("fl oz/min", "oz/min")),
        Unit("gallon/minute", ("gal/min", "gpm")),
        Unit("gallon/hour", ("gal/h", "gal/hr", "gph")),
        Unit("foot**3/minute", ("ft3/min", "cfm", "cu ft/min")),
        Unit("foot**3/hour", ("ft3/h", "cfh", "ft3/hr")),
    ),
    metric=always("L/min", 2),
    us=always("gal/min", 2),
)
LEAK_RATE = KindRow(
    kind=Kind.LEAK_RATE,
    noun="a leak by weight",
    base="g/h",
    lowest=ZERO,
    highest=D(1_000_000_000),
    examples=("5 g/h", "0.2 oz/h"),
    units=(
        Unit("gram/hour", ("g/h", "g/hr", "g/hour")),
        Unit("gram/minute", ("g/min",)),
        Unit("gram/second", ("g/s", "g/sec")),
        Unit("gram/day", ("g/day", "g/d")),
        Unit("kilogram/hour", ("kg/h", "kg/hr")),
        Unit("kilogram/second", ("kg/s",)),
        Unit("avoirdupois_ounce/hour", ("oz/h", "oz/hr")),
        Unit("pound/hour", ("lb/h", "lb/hr", "lbs/h")),
        Unit("pound/day", ("lb/day",)),
    ),
    metric=always("g/h", 1),
    us=always("oz/h", 2),
)
AIR_CHANGES = KindRow(
    kind=Kind.AIR_CHANGES,
    noun="a number of air changes per hour",
    base="1/h",
    lowest=ZERO,
    highest=D(1000),
    examples=("6 air changes/h", "6 1/h"),
    units=(
        Unit(
            "1/hour",
            (
                "air changes/h", "1/h", "/h", "/hr", "/hour", "per h", "per hour", "ach", "h-1",
                "air changes per hour", "air changes/hr", "air changes/hour", "changes/h",
                "changes per hour",
            ),
        ),
    ),
    metric=always("air changes/h", 2),
    us=always("air changes/h", 2),
)  # fmt: skip
