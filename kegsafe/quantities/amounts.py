"""Rows for what is measured out: volume, weight, pieces.

Bar measures are common practice, no source: dash 0.8 ml, drop 0.05 ml, bar spoon 5 ml.
Gallon, quart, pint, cup, fluid ounce, tablespoon and teaspoon are the US ones unless
"imp" or "UK" stands before them.
"""

from decimal import Decimal

from kegsafe.quantities.kinds import Kind, KindRow, Unit, always, steps

D = Decimal
ZERO = D(0)

LITRE_WORDS = ("L", "litre", "litres", "liter", "liters", "ltr")
MILLILITRE_WORDS = (
    "ml",
    "millilitre",
    "millilitres",
    "milliliter",
    "milliliters",
    "cc",
    "cm3",
)
CUBIC_METRE_WORDS = ("m3", "m^3", "cubic metre", "cubic metres", "cubic meter", "cubic meters")
CUBIC_FOOT_WORDS = ("ft3", "ft^3", "cu ft", "cuft", "cubic foot", "cubic feet")
PINT_AND_LARGER = (
    Unit("gallon", ("gal", "gallon", "gallons", "US gal", "gal US", "US gallon", "US gallons")),
    Unit("quart", ("qt", "quart", "quarts", "US qt")),
    Unit("pint", ("pint", "pints", "pt", "US pint")),
    Unit("imperial_gallon", ("imp gal", "UK gal", "imperial gallon", "imperial gallons")),
    Unit("imperial_pint", ("imp pint", "UK pint", "imperial pint", "imperial pints")),
)
US_FLUID_OUNCE_WORDS = (
    "fl oz",
    "floz",
    "fluid ounce",
    "fluid ounces",
    "US fl oz",
    "fl ounce",
    "fl ounces",
)
OUNCE_WORDS = ("oz", "ounce", "ounces")
WEIGHT_OUNCE_WORDS = ("oz wt", "wt oz", "oz av", "oz avdp")

VOLUME = KindRow(
    kind=Kind.VOLUME,
    noun="a volume",
    base="ml",
    lowest=ZERO,
    highest=D(1_000_000_000),
    examples=("19 L", "1 1/2 oz"),
    units=(
        Unit("milliliter", MILLILITRE_WORDS),
        Unit("centiliter", ("cl", "centilitre", "centilitres", "centiliter", "centiliters")),
        Unit("deciliter", ("dl", "decilitre", "decilitres", "deciliter", "deciliters")),
        Unit("liter", LITRE_WORDS),
        Unit("hectoliter", ("hl", "hectolitre", "hectolitres", "hectoliter", "hectoliters")),
        Unit("meter**3", CUBIC_METRE_WORDS),
        Unit("foot**3", CUBIC_FOOT_WORDS),
        Unit("fluid_ounce", US_FLUID_OUNCE_WORDS),
        Unit("fluid_ounce", OUNCE_WORDS),
        Unit("imperial_fluid_ounce", ("imp fl oz", "UK fl oz", "imp oz", "imperial fluid ounce")),
        *PINT_AND_LARGER,
        Unit("cup", ("cup", "cups", "US cup", "US cups")),
        Unit("tablespoon", ("tbsp", "tablespoon", "tablespoons", "tbs")),
        Unit("teaspoon", ("tsp", "teaspoon", "teaspoons")),
        Unit("milliliter", ("dash", "dashes"), times=D("0.8")),  # common practice, no source
        Unit("milliliter", ("drop", "drops"), times=D("0.05")),  # common practice, no source
        # common practice, no source
        Unit("milliliter", ("bar spoon", "bar spoons", "bsp"), times=D(5)),
    ),
    metric=steps(("0", "ml", 1), ("1000", "L", 2)),
    us=steps(("0", "fl oz", 2), ("3785.411784", "gal", 2)),
    refused={
        "part": "A part has no size of its own.",
        "parts": "A part has no size of its own.",
        "shot": "A shot differs from bar to bar.",
        "shots": "A shot differs from bar to bar.",
        "jigger": "A jigger differs from bar to bar.",
        "jiggers": "A jigger differs from bar to bar.",
        "bottle": "Bottles come in many sizes.",
        "bottles": "Bottles come in many sizes.",
    },
)
ROOM_VOLUME = KindRow(
    kind=Kind.ROOM_VOLUME,
    noun="the size of a room",
    base="m3",
    lowest=ZERO,
    highest=D(1_000_000),
    examples=("30 m3", "1060 ft3"),
    units=(Unit("meter**3", CUBIC_METRE_WORDS), Unit("foot**3", CUBIC_FOOT_WORDS)),
    metric=steps(("0", "m3", 2), ("10", "m3", 1), ("100", "m3", 0)),
    us=steps(("0", "ft3", 1), ("100", "ft3", 0)),
)
MASS = KindRow(
    kind=Kind.MASS,
    noun="a weight",
    base="g",
    lowest=ZERO,
    highest=D(100_000_000),
    examples=("250 g", "8 oz"),
    units=(
        Unit("gram", ("g", "gram", "grams", "gramme", "grammes", "gm")),
        Unit("kilogram", ("kg", "kilo", "kilos", "kilogram", "kilograms", "kgs")),
        Unit("milligram", ("mg", "milligram", "milligrams")),
        Unit("avoirdupois_ounce", OUNCE_WORDS),
        Unit("avoirdupois_ounce", WEIGHT_OUNCE_WORDS),
        Unit("pound", ("lb", "lbs", "pound", "pounds")),
    ),
    metric=steps(("0", "g", 1), ("1000", "kg", 2)),
    us=steps(("0", "oz", 2), ("453.59237", "lb", 2)),
)
COUNT = KindRow(
    kind=Kind.COUNT,
    noun="a number of pieces",
    base="pieces",
    lowest=ZERO,
    highest=D(1_000_000),
    examples=("12 pieces", "2"),
    units=(Unit(None, ("pieces", "piece", "pcs", "pc", "each", "ea")),),
    metric=always("pieces", 2),
    us=always("pieces", 2),
    bare_number=True,
)
