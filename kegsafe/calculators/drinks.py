"""What is in a drink: alcohol, sugar, sulphite and water activity."""

from datetime import date
from decimal import Decimal

from django.utils import timezone

from kegsafe.calculators.calculator import (
    Answer,
    Calculator,
    Given,
    Input,
    PartsInput,
    Refused,
    Result,
)
from kegsafe.calculators.plot import Axis, Level, Line, Plot
from kegsafe.quantities import Kind, Quantity, UnitSystem, in_unit
from kegsafe.rules.codes import codes, regimes
from kegsafe.rules.sulphite import sulphite_declared
from kegsafe.science import alcohol, sugar, water_activity
from kegsafe.science import sulphite as so2
from kegsafe.science.tables import rows

SUBJECT = "What is in the drink"
TEMPERATURE, VOLUME = Kind.TEMPERATURE, Kind.VOLUME
_REDUCED_OXYGEN = "reduced_oxygen.water_activity_maximum"

LABELS_DEFER = (
    "An estimate until somebody measures it. What a label or a menu states follows the bottle, "
    "the local rules and a competent person."
)


def _blend(given: Given) -> Answer:
    parts = [
        alcohol.Part(_in(volume, "ml"), _in(strength, "% vol"), _in(sweet, "g/L"))
        for volume, strength, sweet in given.parts["parts"]
    ]
    found = alcohol.blend(parts)
    grew = "the blend grew" if found.contraction_ml < 0 else ""
    results = [
        Result("abv", "Strength of the blend", found.abv_percent, "% vol", Kind.ALCOHOL),
        Result("volume", "Volume of the blend at 20 °C", found.volume_ml, "ml", VOLUME),
        Result("mass_percent", "Alcohol by mass", found.mass_percent, "% w/w", Kind.MASS_FRACTION),
        Result("contraction", "Lost by contraction", found.contraction_ml, "ml", VOLUME,
               says=f"{-found.contraction_ml:.1f} ml more than poured; {grew}" if grew else ""),
        Result("sugar", "Sugar in a litre", found.sugar_g_per_l, "g/L", Kind.CONCENTRATION),
        Result("density", "Density", found.density_kg_m3, "kg/m3", Kind.DENSITY),
    ]  # fmt: skip
    return Answer(tuple(results))


def _in(cell: Quantity | None, unit: str) -> float:
    """A cell of a list in a unit; a blank one is none of it."""
    return 0.0 if cell is None else float(in_unit(cell, unit))


def _ethanol_density(given: Given) -> Answer:
    strength = given.number_or_none("abv", "% vol")
    share = (
        alcohol.mass_fraction_from_abv(strength)
        if strength is not None
        else given.number("mass", "% w/w") / 100.0
    )
    density = alcohol.density_kg_m3(share, given.number("temperature", "°C"))
    abv = alcohol.abv_from_mass_fraction(share) if strength is None else strength
    return Answer(
        (
            Result("density", "Density", density, "kg/m3", Kind.DENSITY),
            Result("abv", "Strength at 20 °C", abv, "% vol", Kind.ALCOHOL),
            Result("mass_percent", "Alcohol by mass", 100.0 * share, "% w/w", Kind.MASS_FRACTION),
        )
    )


def _sugar_density(given: Given) -> Answer:
    brix, temperature = given.number("brix", "°Brix"), given.number("temperature", "°C")
    density = sugar.density_kg_m3(brix, temperature)
    grams = sugar.sugar_g_per_l(brix, temperature)
    return Answer(
        (
            Result("density", "Density", density, "kg/m3", Kind.DENSITY),
            Result("sugar", "Sugar in a litre", grams, "g/L", Kind.CONCENTRATION),
        )
    )


def _sulphite(given: Given) -> Answer:
    parts = [
        so2.SulphitePart(_in(volume, "ml"), None if total is None else _in(total, "mg/L"))
        for volume, total in given.parts["parts"]
    ]
    blend = so2.total_so2_mg_per_l(parts)
    density = given.number_or_none("density", "g/ml")
    unknown = "not known: a part has no figure, so sulphites are declared"
    total = Result(
        "total_so2",
        "Total SO2 of the drink",
        blend,
        "mg/L",
        Kind.CONCENTRATION,
        says=unknown if blend is None else "",
    )
    return Answer((total, *_declared(blend, density, timezone.localdate())))


def _declared(blend: float | None, density: float | None, on: date) -> list[Result]:
    amount = None if blend is None else Decimal(repr(blend))
    weighed = None if density is None else Decimal(repr(density))
    verdicts = {
        regime: sulphite_declared(regime, amount, weighed, on) for regime in regimes().values()
    }
    return [
        Result(
            f"declared_{regime.key}",
            regime.name,
            verdict.declared,
            says=f"{verdict.finding.statement} ({verdict.finding.source})",
            group="Against the threshold of each allergen list",
        )
        for regime, verdict in verdicts.items()
    ]


_SOLUTES = (("glucose", "glucose"), ("fructose", "fructose"), ("glycerol", "glycerol"))


def _estimate(given: Given, brix: float) -> water_activity.Estimate:
    shares = {name: given.number_or(key, "% w/w", 0.0) for key, name in _SOLUTES}
    shares[water_activity.SALT] = given.number_or("salt", "% w/w", 0.0)
    if not any(shares.values()):
        return water_activity.of_sucrose(brix)
    solutes = {name: share for name, share in (("sucrose", brix), *shares.items()) if share}
    solvent = 100.0 - sum(solutes.values())
    if solvent <= 0.0:
        raise Refused.at("", "The shares come to 100 % or more and leave no water. Check them.")
    spirit = solvent * alcohol.mass_fraction_from_abv(given.number_or("abv", "% vol", 0.0))
    return water_activity.of_mixture(solutes, max(solvent - spirit, 1e-6), spirit)


def _water_activity(given: Given) -> Answer:
    found = _estimate(given, given.number("brix", "°Brix"))
    kind = Kind.WATER_ACTIVITY
    lowest = max(0.0, found.value - found.plus_or_minus)
    bounds = [
        Result(
            f"stays_at_or_below_{bound}",
            f"{bound} ({name})",
            found.highest <= bound,
            says="at or below, error included" if found.highest <= bound else "not shown to be",
            group="Stays at or below the bounds of the codes",
        )
        for bound, name in _bounds()
    ]
    results = (
        Result("water_activity", "Water activity", found.value, "aw", kind),
        Result("lowest", "At the least", lowest, "aw", kind),
        Result("highest", "At the most", found.highest, "aw", kind),
        *bounds,
    )
    return Answer(results, uncertainty=f"Plus or minus {found.plus_or_minus:g} here.")


def _bounds() -> list[tuple[float, str]]:
    """Water activities a code draws a line at, with the place where it does."""
    names: dict[float, list[str]] = {}
    for row in rows("tcs/tables"):
        if row["aw_max"]:
            names.setdefault(float(row["aw_max"]), []).append(f"TCS table {row['table']}")
    on = timezone.localdate()
    for code in codes().values():
        if code.has(_REDUCED_OXYGEN, on):
            bound = float(code.limit(_REDUCED_OXYGEN, on).number)
            names.setdefault(bound, []).append(f"reduced oxygen, {code.name}")
    return [(bound, ", ".join(dict.fromkeys(names[bound]))) for bound in sorted(names)]


def _water_activity_plot(given: Given, units: UnitSystem) -> Plot:
    brix = given.number("brix", "°Brix")
    found = _estimate(given, brix).value
    y = Axis("Water activity", Kind.WATER_ACTIVITY, "aw", ("aw", "aw"))
    curve = [(float(each), water_activity.of_sucrose(float(each)).value) for each in range(71)]
    return Plot(
        title="Water activity of sucrose syrup",
        x=Axis("Sugar", Kind.SUGAR, "°Brix", ("°Brix", "°Brix")),
        y=y,
        lines=[Line("sucrose alone", curve)],
        levels=[Level(f"{bound:g}", bound) for bound, _ in _bounds()],
        sentence=(
            "The sweeter the syrup, the lower its water activity. The marks are bounds that the "
            f"codes draw. The point is yours: {y.text(found, units)} at {brix:g} °Brix."
        ),
        point=(brix, found),
        lowest=0.8,
        highest=1.0,
    )


_STRENGTH_NAMES = ("strength",)
BLEND_ALCOHOL = Calculator(
    name="blend-alcohol",
    title="Strength of a blend",
    purpose="Alcohol and volume of a blend by mass balance, contraction included.",
    subject=SUBJECT,
    inputs=(
        PartsInput(
            "parts",
            "Parts of the blend",
            (
                Input("volume", "Volume", VOLUME, "700 mL"),
                Input("abv", "Strength", Kind.ALCOHOL, "40 %"),
                Input("sugar", "Sugar", Kind.CONCENTRATION, "", needed=False),
            ),
            '[["700 mL", "40 %"], ["300 mL", "0 %"]]',
        ),
    ),
    work=_blend,
    relation=(
        "Each part is split into its grams of alcohol, sugar and water; the grams are added "
        "and turned back into a volume by the alcohol and sugar tables."
    ),
    source="OIML R 22 (1975) and Council Directive 76/766/EEC; ICUMSA SPS-4 for sugar.",
    verified="coefficients second-hand, held against three printed tables; sugar second-hand",
    range="0 to 100 % vol, volumes at 20 °C, up to 85 °Brix of sugar in the water of a part.",
    uncertainty=(
        f"{alcohol.BLEND_UNCERTAINTY_PERCENT_VOL} % vol until it is measured. What else a juice "
        "holds counts as water."
    ),
    cautions=(LABELS_DEFER,),
)
ETHANOL_DENSITY = Calculator(
    name="ethanol-density",
    title="Density of alcohol and water",
    purpose="Density of a mixture of alcohol and water at a temperature.",
    subject=SUBJECT,
    inputs=(
        Input("abv", "Strength at 20 °C", Kind.ALCOHOL, "40 %", needed=False,
              science_names=_STRENGTH_NAMES),
        Input("mass", "Alcohol by mass", Kind.MASS_FRACTION, "", needed=False,
              science_names=("mass fraction of ethanol",)),
        Input("temperature", "Temperature", TEMPERATURE, "5 degC", needed=False, default="20 °C",
              blank_means="20 °C", science_names=("temperature",)),
    ),
    one_of=("abv", "mass"),
    work=_ethanol_density,
    relation="The general formula of the international alcoholometric tables.",
    source="OIML R 22 (1975) and Council Directive 76/766/EEC, annex, section 4.",
    verified="part read, part second-hand; held against three printed tables",
    range="0 to 100 %, -20 to 40 °C; the formula does not know that weak mixtures freeze.",
    uncertainty=f"{alcohol.FORMULA_UNCERTAINTY_KG_M3} kg/m3 for alcohol and water alone.",
    cautions=("Sugar in a drink makes it heavier: this is for plain spirits.",),
)  # fmt: skip
SUGAR_DENSITY = Calculator(
    name="sugar-density",
    title="Density of a syrup",
    purpose="Density of a sucrose syrup, and the grams of sugar in a litre of it.",
    subject=SUBJECT,
    inputs=(
        Input("brix", "Sugar", Kind.SUGAR, "50 Brix", science_names=("strength of syrup",)),
        Input("temperature", "Temperature", TEMPERATURE, "", needed=False, default="20 °C",
              blank_means="20 °C", science_names=("temperature",)),
    ),
    work=_sugar_density,
    relation="The density polynomial for sucrose in water.",
    source="ICUMSA SPS-4.",
    verified="second-hand: two public codes that agree; held against two printed tables",
    range="0 to 85 °Brix, 0 to 80 °C, sucrose in water and nothing else.",
    uncertainty=f"{sugar.DENSITY_UNCERTAINTY_KG_M3} kg/m3 up to 60 °Brix at 20 °C, 0.1 % beyond.",
    cautions=("A refractometer in a drink with alcohol reads neither sugar nor alcohol.",),
)  # fmt: skip
SULPHITE = Calculator(
    name="sulphite",
    title="Sulphite of a blend",
    purpose="Total SO2 of a drink, against the threshold of each allergen list.",
    subject=SUBJECT,
    inputs=(
        PartsInput(
            "parts",
            "Parts of the drink as it is served",
            (
                Input("volume", "Volume", VOLUME, "20 mL"),
                Input("total_so2", "Total SO2", Kind.CONCENTRATION, "90 mg/L", needed=False),
            ),
            '[["20 mL", "90 mg/L"], ["140 mL", "0 mg/L"]]',
        ),
        Input("density", "Density of the drink", Kind.DENSITY, "", needed=False,
              blank_means="compared by volume only"),
    ),
    work=_sulphite,
    relation="Mass balance in exact fractions. A part without a figure makes the total unknown.",
    source="Mass balance; thresholds from the rows of each allergen list.",
    verified="computed; the standing of each threshold is given with it",
    range="Up to 10 000 mg/L in a part. Soda, water and melted ice belong to the parts.",
    uncertainty="An upper bound: nothing is taken off for gassing off, oxidation or purging.",
    cautions=(
        "Some people react to amounts below any threshold. The local list and the authority "
        "decide what is declared; tell the guest what is not known.",
    ),
)  # fmt: skip


def _share(key: str, label: str, name: str) -> Input:
    return Input(key, label, Kind.MASS_FRACTION, "", needed=False, science_names=(name,))


WATER_ACTIVITY = Calculator(
    name="water-activity",
    title="Water activity",
    purpose="Water activity of a syrup or sweet drink with its error band.",
    subject=SUBJECT,
    inputs=(
        Input("brix", "Sugar as sucrose", Kind.SUGAR, "50 Brix",
              science_names=("strength of syrup", "share of sucrose")),
        _share("glucose", "Glucose by mass", "share of glucose"),
        _share("fructose", "Fructose by mass", "share of fructose"),
        _share("glycerol", "Glycerol by mass", "share of glycerol"),
        _share("salt", "Salt by mass", "salt"),
        Input("abv", "Alcohol", Kind.ALCOHOL, "", needed=False,
              blank_means="none; alcohol is counted as water and earns nothing"),
    ),
    work=_water_activity,
    relation=(
        "Norrish for sugars and glycerol, Pitzer for salt. In mixtures the larger of Ross's "
        "product and Norrish's mixture rule stands. Alcohol is counted as water."
    ),
    source="Norrish's equation as in Baeza et al. 2010; Pitzer and Mayorga 1973; Ross's product.",
    verified="constants from memory, confirmed against osmotic coefficients and freezing points",
    range="Up to 70 % of solids by mass, 6 mol of salt in a kilogram of water, 20 to 30 °C.",
    uncertainty="0.003 to 0.01 for sucrose alone, 0.02 for mixtures.",
    cautions=(
        "An estimate may only warn. A claim that a drink lies at or below a bound needs an "
        "instrument, and the code or a competent person to accept it.",
    ),
    plot=_water_activity_plot,
)  # fmt: skip
CALCULATORS = (
    BLEND_ALCOHOL,
    ETHANOL_DENSITY,
    SULPHITE,
    WATER_ACTIVITY,
    SUGAR_DENSITY,
)
