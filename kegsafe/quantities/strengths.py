"""Rows for what is in what: strengths, shares, densities, and readings without a unit."""

from decimal import Decimal

from kegsafe.quantities.kinds import Kind, KindRow, Unit, always, steps

D = Decimal
ZERO = D(0)

MASS_PER_VOLUME = (
    Unit("milligram/liter", ("mg/L", "mg/litre", "mg/liter", "g/m3")),
    Unit("gram/liter", ("g/L", "g/litre", "g/liter", "mg/ml", "kg/m3")),
    Unit("microgram/liter", ("ug/L", "μg/L")),
    Unit("gram/milliliter", ("g/ml",)),
    Unit("gram/deciliter", ("g/100 ml", "g/dl", "% w/v", "w/v %", "% m/v")),
    Unit("avoirdupois_ounce/gallon", ("oz/gal", "oz wt/gal", "wt oz/gal", "oz/gallon")),
    Unit("pound/gallon", ("lb/gal", "lb/gallon")),
)
CONCENTRATION = KindRow(
    kind=Kind.CONCENTRATION,
    noun="a weight per volume",
    base="mg/L",
    lowest=ZERO,
    highest=D(10_000_000),
    examples=("5 g/L", "2 oz/gal"),
    units=MASS_PER_VOLUME,
    metric=steps(("0", "mg/L", 1), ("1000", "g/L", 2)),
    us=steps(("0", "mg/L", 1), ("1000", "oz/gal", 2)),
    refused={"ppm": "ppm equals mg/L in dilute water only, and a drink is not that."},
)
SANITISER_STRENGTH = KindRow(
    kind=Kind.SANITISER_STRENGTH,
    noun="the strength of a sanitiser in water",
    base="mg/L",
    lowest=ZERO,
    highest=D(2_000_000),
    examples=("200 ppm", "200 mg/L"),
    units=(Unit("milligram/liter", ("ppm", "parts per million")), *MASS_PER_VOLUME),
    metric=always("ppm", 1),
    us=always("ppm", 1),
)
VOLUME_FRACTION = KindRow(
    kind=Kind.VOLUME_FRACTION,
    noun="a volume mixed into a volume",
    base="% v/v",
    lowest=ZERO,
    highest=D(100),
    examples=("2 % v/v", "1 fl oz/gal"),
    units=(
        Unit("percent", ("% v/v", "v/v %", "% by volume", "%v/v", "%", "percent", "per cent")),
        Unit("milliliter/liter", ("ml/L", "ml/litre", "ml/liter")),
        Unit("milliliter/deciliter", ("ml/100 ml",)),
        Unit("fluid_ounce/gallon", ("fl oz/gal", "floz/gal", "fluid oz/gal")),
        Unit("fluid_ounce/gallon", ("oz/gal", "oz/gallon")),
    ),
    metric=always("% v/v", 2),
    us=always("fl oz/gal", 2),
)
MASS_FRACTION = KindRow(
    kind=Kind.MASS_FRACTION,
    noun="a weight in a weight",
    base="% w/w",
    lowest=ZERO,
    highest=D(100),
    examples=("5 % w/w", "5 g/100 g"),
    units=(
        Unit("percent", ("% w/w", "% m/m", "% by weight", "% by mass", "% mass", "%", "percent")),
        Unit("percent", ("g/100 g", "g per 100 g")),
        Unit("gram/kilogram", ("g/kg", "mg/g")),
        Unit("milligram/kilogram", ("mg/kg",)),
    ),
    metric=always("% w/w", 2),
    us=always("% w/w", 2),
)
PERCENT = KindRow(
    kind=Kind.PERCENT,
    noun="a percentage",
    base="%",
    lowest=ZERO,
    highest=D(100),
    examples=("5 %", "0.5 %"),
    units=(Unit("percent", ("%", "percent", "per cent", "pct")),),
    metric=always("%", 2),
    us=always("%", 2),
)
FRACTION = KindRow(
    kind=Kind.FRACTION,
    noun="a share of the whole",
    base="of 1",
    lowest=ZERO,
    highest=D(1),
    examples=("0.5", "50 %"),
    units=(
        Unit("dimensionless", ("of 1",)),
        Unit("percent", ("%", "percent", "per cent")),
    ),
    metric=always("%", 1),
    us=always("%", 1),
    bare_number=True,
)
GAS_FRACTION = KindRow(
    kind=Kind.GAS_FRACTION,
    noun="a share of the air by volume",
    base="ppm",
    lowest=ZERO,
    highest=D(1_000_000),
    examples=("5000 ppm", "0.5 %"),
    units=(
        Unit("ppm", ("ppm", "ppmv", "parts per million")),
        Unit("percent", ("%", "% vol", "% by volume", "percent", "per cent")),
    ),
    metric=steps(("0", "ppm", 0), ("10000", "%", 2)),
    us=steps(("0", "ppm", 0), ("10000", "%", 2)),
)
FILLING_RATIO = KindRow(
    kind=Kind.FILLING_RATIO,
    noun="a weight of gas per volume of cylinder",
    base="kg/L",
    lowest=ZERO,
    highest=D(2),
    examples=("0.68 kg/L", "5.67 lb/gal"),
    units=(
        Unit("kilogram/liter", ("kg/L", "kg/litre", "kg/liter", "kg/dm3", "g/ml", "g/cm3")),
        Unit("gram/liter", ("g/L", "kg/m3")),
        Unit("pound/gallon", ("lb/gal",)),
        Unit("pound/foot**3", ("lb/ft3",)),
    ),
    metric=always("kg/L", 3),
    us=always("lb/gal", 2),
    refused={"%": "A filling density in % is by weight of water, not per volume."},
)
DENSITY = KindRow(
    kind=Kind.DENSITY,
    noun="a density",
    base="g/ml",
    lowest=ZERO,
    highest=D(25),
    examples=("1.05 g/ml", "1050 kg/m3"),
    units=(
        Unit("gram/milliliter", ("g/ml", "g/cm3", "kg/L", "kg/dm3")),
        Unit("gram/liter", ("g/L", "kg/m3")),
        Unit("pound/gallon", ("lb/gal",)),
        Unit("pound/foot**3", ("lb/ft3",)),
    ),
    metric=always("g/ml", 4),
    us=always("lb/gal", 3),
)

PROOF = "Proof is counted at 60 °F, % vol at 20 °C, so it is not converted here."
BY_WEIGHT = "Alcohol by weight is not alcohol by volume."
ALCOHOL = KindRow(
    kind=Kind.ALCOHOL,
    noun="a strength in % vol",
    base="% vol",
    lowest=ZERO,
    highest=D(100),
    examples=("40 % vol", "5.5 % ABV"),
    units=(
        Unit(
            None,
            (
                "% vol", "%", "% ABV", "ABV", "vol %", "% alc/vol", "% by volume", "% v/v",
                "percent", "per cent", "% vol alc", "% alc by vol",
            ),
        ),
    ),
    metric=always("% vol", 2),
    us=always("% ABV", 2),
    refused={
        "proof": PROOF, "° proof": PROOF, "proof US": PROOF, "US proof": PROOF,
        "% proof": PROOF, "degrees proof": PROOF,
        "% w/w": BY_WEIGHT, "% by weight": BY_WEIGHT, "% by mass": BY_WEIGHT,
        "% mass": BY_WEIGHT, "% ABW": BY_WEIGHT, "ABW": BY_WEIGHT,
    },
)  # fmt: skip
SUGAR = KindRow(
    kind=Kind.SUGAR,
    noun="a sugar reading",
    base="°Brix",
    lowest=ZERO,
    highest=D(100),
    examples=("50 °Brix", "12.5 Bx"),
    units=(
        Unit(None, ("°Brix", "Brix", "°Bx", "Bx", "degrees Brix", "deg Brix", "% Brix", "Brix %")),
    ),
    metric=always("°Brix", 1),
    us=always("°Brix", 1),
)
CO2_VOLUMES = KindRow(
    kind=Kind.CO2_VOLUMES,
    noun="carbonation in volumes of CO2",
    base="volumes",
    lowest=ZERO,
    highest=D(20),
    examples=("3.5 volumes", "3.5 vol"),
    units=(
        Unit(
            None,
            (
                "volumes", "volume", "vol", "vols", "v/v", "volumes of CO2", "vol CO2", "vols CO2",
                "volumes CO2", "CO2 volumes", "volumes of CO₂",
            ),
        ),
    ),
    metric=always("volumes", 2),
    us=always("volumes", 2),
)  # fmt: skip
PH = KindRow(
    kind=Kind.PH,
    noun="a pH",
    base="pH",
    lowest=D(-1),
    highest=D(15),
    examples=("pH 3.4", "3.4"),
    units=(Unit(None, ("pH",)),),
    metric=always("pH", 2),
    us=always("pH", 2),
    too_low="is lower than any pH a meter shows",
    bare_number=True,
)
WATER_ACTIVITY = KindRow(
    kind=Kind.WATER_ACTIVITY,
    noun="a water activity",
    base="aw",
    lowest=ZERO,
    highest=D(1),
    examples=("0.92 aw", "0.92"),
    units=(Unit(None, ("aw", "a_w", "water activity")),),
    metric=always("aw", 3),
    us=always("aw", 3),
    bare_number=True,
)
NUMBER = KindRow(
    kind=Kind.NUMBER,
    noun="a plain number",
    base="",
    lowest=D(-1_000_000_000),
    highest=D(1_000_000_000),
    examples=("12", "0.5"),
    units=(Unit(None, ("",)),),
    metric=always("", 3),
    us=always("", 3),
    too_low="is lower than any number here can be",
    bare_number=True,
)
