"""Lines and their cleaning: volume, flow, dilution, rinsing and what a rinse leaves."""

from kegsafe.calculators.calculator import (
    Answer,
    Calculator,
    Choice,
    Given,
    Input,
    Refused,
    Result,
)
from kegsafe.frame.cautions import ALLERGENS, CLEANING_CHEMICALS
from kegsafe.quantities import Kind, Quantity, in_unit
from kegsafe.quantities.refusals import shown
from kegsafe.science import dilution, line_hydraulics, rinsing
from kegsafe.science.tables import rows

SUBJECT = "Lines and cleaning"
VOLUME = Kind.VOLUME

BORE = Input(
    "bore", "Inner diameter of the line", Kind.LENGTH, "1/4 in", science_names=("bore of line",)
)
HOLD_UP = Input(
    "hold_up",
    "Volume of the line with its fittings",
    VOLUME,
    "60 ml",
    science_names=("volume of the line",),
)


def _volume(given: Given) -> Answer:
    fittings = given.number_or("tap", "ml", 0.0) + given.number_or("coupler", "ml", 0.0)
    length, bore = given.number("length", "m"), given.number("bore", "mm")
    whole = line_hydraulics.line_volume_ml(length, bore, fittings)
    line = line_hydraulics.line_volume_ml(length, bore)
    return Answer(
        (
            Result("volume", "Volume of the line with its fittings", whole, "ml", VOLUME),
            Result("line", "Of that the line", line, "ml", VOLUME),
        )
    )


def _flow(given: Given) -> Answer:
    bore, flow = given.number("bore", "mm"), given.number("flow", "L/min")
    temperature = given.number("temperature", "°C")
    reynolds = line_hydraulics.reynolds_number(flow, bore, temperature)
    turbulent_from = line_hydraulics.flow_for_reynolds_l_min(
        line_hydraulics.TURBULENT_ABOVE_RE, bore, temperature
    )
    speed = line_hydraulics.velocity_m_s(flow, bore)
    regime = line_hydraulics.regime(reynolds)
    results = [
        Result("velocity", "Velocity", speed, "m/s", Kind.SPEED),
        Result("reynolds", "Reynolds number", reynolds),
        Result("is_turbulent", "Turbulent", regime is line_hydraulics.Regime.TURBULENT,
               says=_regime_says(regime)),
        Result("turbulent_from", "Turbulent from", turbulent_from, "L/min", Kind.FLOW),
        *_turnover(given, bore, flow),
    ]  # fmt: skip
    return Answer(tuple(results))


def _regime_says(regime: line_hydraulics.Regime) -> str:
    match regime:
        case line_hydraulics.Regime.TURBULENT:
            return "yes"
        case line_hydraulics.Regime.LAMINAR:
            return "no, laminar"
        case line_hydraulics.Regime.UNSURE:
            return "not for certain: between laminar and turbulent"


def _turnover(given: Given, bore_mm: float, flow_l_min: float) -> list[Result]:
    if not given.has("length"):
        return [Result("turnover", "Time for one turnover", None, says="no length was given")]
    volume = line_hydraulics.line_volume_ml(given.number("length", "m"), bore_mm)
    seconds = line_hydraulics.turnover_s(volume, flow_l_min)
    return [Result("turnover", "Time for one turnover", seconds, "s", Kind.TIME)]


def _dilution(given: Given) -> Answer:
    stock = _stock_mg_per_l(given)
    target, total = given.number("wanted", "mg/L"), given.number("volume", "ml")
    found = dilution.dose(stock, target, total)
    parts = dilution.parts_of_water(stock, target) if target else None
    return Answer(
        (
            Result("concentrate", "Concentrate", found.concentrate_ml, "ml", VOLUME),
            Result("water", "Water", found.water_ml, "ml", VOLUME),
            Result("parts_of_water", "Parts of water to one of concentrate", parts),
            Result("stock", "Strength of the concentrate", stock, "mg/L", Kind.CONCENTRATION),
        )
    )


def _stock_mg_per_l(given: Given) -> float:
    concentrate = given.quantities["concentrate"]
    if concentrate.kind is not Kind.MASS_FRACTION:
        return float(in_unit(concentrate, "mg/L"))
    _refuse_bare_percent(concentrate)
    if not given.has("density"):
        needs = "A strength by weight needs the density, from the safety data sheet: 1.08 g/ml."
        raise Refused.at("density", needs)
    percent, density = float(in_unit(concentrate, "% w/w")), given.number("density", "g/ml")
    return dilution.mg_per_l_from_percent_ww(percent, density)


def _refuse_bare_percent(concentrate: Quantity) -> None:
    """12 % by weight of a heavy concentrate is a good deal stronger than 12 % by volume."""
    typed = concentrate.typed.strip()
    if typed.endswith(("%", "percent")):
        number = typed.rstrip("%percnt ")
        trouble = f"{shown(typed)} does not say by weight of what."
        advice = f"Write {number} % w/w or {number} % w/v, as the label has it."
        raise Refused.at("concentrate", f"{trouble} {advice}")


def _rinse(given: Given) -> Answer:
    line = given.number("hold_up", "ml")
    wanted = given.number_or_none("residual", "%")
    if wanted is not None:
        return _rinse_for(line, wanted / 100.0)
    volumes = given.number("rinse", "ml") / line if line else float("inf")
    share = Kind.FRACTION
    return Answer(
        (
            Result("fully_mixed", "Left if it mixes", rinsing.residual_fully_mixed(volumes),
                   "of 1", share),
            Result("plug_flow", "Left if it pushes like a piston",
                   rinsing.residual_plug_flow(volumes), "of 1", share),
            Result("line_volumes", "Rinse in line volumes", volumes),
        )
    )  # fmt: skip


def _rinse_for(line_ml: float, residual: float) -> Answer:
    mixed = rinsing.rinse_needed_ml(line_ml, 1.0, residual)
    plug = line_ml * (1.0 - residual)
    return Answer(
        (
            Result("fully_mixed", "Rinse if it mixes", mixed, "ml", VOLUME),
            Result("plug_flow", "Rinse if it pushes like a piston", plug, "ml", VOLUME),
        )
    )


def _carry_over(given: Given) -> Answer:
    found = rinsing.line_carry_over(
        given.number("hold_up", "ml"),
        given.number("protein", "mg/ml"),
        given.number("rinse", "ml"),
        given.number("pour", "ml"),
    )
    results = [
        Result("fully_mixed", "All that is left, in one pour (mixed)", found.fully_mixed_mg, "mg"),
        Result("first_pour", "In the first pour (mixed)", found.first_pour_mg, "mg"),
        Result("plug_flow", "In one pour (piston)", found.plug_flow_mg, "mg"),
        *_against_doses(found.cautious_pour_mg, given.words.get("allergen")),
    ]
    return Answer(tuple(results))


def _against_doses(pour_mg: float, allergen: str | None) -> list[Result]:
    return [
        Result(
            f"reaches_{row['set']}_{row['atom']}".lower().replace("/", "_"),
            f"{_spelled(row['atom'])}, {row['set']} {float(row['protein_mg']):g} mg",
            reaches := pour_mg >= float(row["protein_mg"]),
            says="reached" if reaches else "below it, and no promise of absence",
            group="Against the published reference doses (all that is left in one pour)",
        )
        for row in rows("science/allergen_reference_doses")
        if allergen in (None, row["atom"])
    ]


def _spelled(atom: str) -> str:
    return atom.replace("_", " ")


def _allergens() -> tuple[tuple[str, str], ...]:
    atoms = dict.fromkeys(row["atom"] for row in rows("science/allergen_reference_doses"))
    return tuple((atom, _spelled(atom)) for atom in sorted(atoms))


_NO_CLEAN_CLAIM = (
    "The film on the wall, dead legs and dried residue are in neither bound, so more can be "
    "left. These figures may say not clean enough; they never say clean."
)
LINE_VOLUME = Calculator(
    name="line-volume",
    title="Volume of a line",
    purpose="What a line holds, with its tap and coupler.",
    subject=SUBJECT,
    inputs=(
        BORE,
        Input("length", "Length of the line", Kind.LENGTH, "25 ft",
              science_names=("length of line",)),
        Input("tap", "Volume of the tap and shank", VOLUME, "", needed=False,
              blank_means="nothing added", science_names=("volume of fittings",)),
        Input("coupler", "Volume of the coupler", VOLUME, "", needed=False,
              blank_means="nothing added; 20 to 50 ml for tap, shank and coupler is common "
              "practice, no source"),
    ),
    work=_volume,
    relation="V = pi d² L / 4, and what the fittings hold.",
    source="Geometry.",
    verified="computed",
    range="Bore 3 to 20 mm, up to 150 m, fittings up to 5 L.",
    uncertainty="That of the bore, twice: hose varies by a tenth. Measure with a jug to be sure.",
    cautions=(CLEANING_CHEMICALS,),
)  # fmt: skip
LINE_FLOW = Calculator(
    name="line-flow",
    title="Flow in a line",
    purpose="How fast a cleaning solution moves, whether it is turbulent, and one turnover.",
    subject=SUBJECT,
    inputs=(
        BORE,
        Input("flow", "Flow rate", Kind.FLOW, "1 gal/min", science_names=("flow",)),
        Input("temperature", "Temperature of the solution", Kind.TEMPERATURE, "", needed=False,
              default="20 °C", blank_means="20 °C", science_names=("temperature",)),
        Input("length", "Length of the line", Kind.LENGTH, "25 ft", needed=False,
              blank_means="no turnover is computed", science_names=("length of line",)),
    ),
    work=_flow,
    relation="Mean velocity over the bore; Re = v d / nu with the viscosity of water.",
    source="Hardy and Cottingham 1949 and Swindells for viscosity; 2300 and 4000 for Re.",
    verified="part read, part memory, held against two printed tables; the two Re second-hand",
    range="Bore 3 to 20 mm, up to 100 L/min, 0 to 80 °C, judged as water.",
    uncertainty="Viscosity 0.3 %; the bore decides, see the volume of a line.",
    cautions=(
        "Turbulent flow alone does not clean: contact time, strength and temperature are the "
        "label's.",
        CLEANING_CHEMICALS,
    ),
)  # fmt: skip
DILUTION = Calculator(
    name="dilution",
    title="Dilution of a cleaner or sanitiser",
    purpose="Concentrate and water for a working solution.",
    subject=SUBJECT,
    inputs=(
        Input("concentrate", "Strength of the concentrate",
              (Kind.MASS_FRACTION, Kind.SANITISER_STRENGTH), "8.25 % w/w",
              science_names=("strength of concentrate", "strength")),
        Input("density", "Density of the concentrate", Kind.DENSITY, "1.1 g/ml", needed=False,
              blank_means="only a strength by weight (% w/w) needs it",
              science_names=("density",)),
        Input("wanted", "Strength wanted", Kind.SANITISER_STRENGTH, "200 ppm",
              science_names=("working strength",)),
        Input("volume", "Volume to make up", VOLUME, "5 L", science_names=("volume of solution",)),
    ),
    work=_dilution,
    relation="Mass balance, V1 C1 = V2 C2; % w/w times density is the strength by volume.",
    source="Mass balance; the method of CDC, Environmental Infection Control, Appendix E.",
    verified="read",
    range="Up to 2 000 000 mg/L, density 0.7 to 2.0 g/ml. ppm is mg/L, as food codes use it.",
    uncertainty="That of the label and the measuring jug. Check with a test strip.",
    cautions=(
        "Add the concentrate to the water, one product at a time. The label and the local code "
        "come before any arithmetic.",
        CLEANING_CHEMICALS,
    ),
)  # fmt: skip
RINSE = Calculator(
    name="rinse",
    title="Rinse of a line",
    purpose="What a rinse leaves behind, or the rinse that a wanted residual takes.",
    subject=SUBJECT,
    inputs=(
        HOLD_UP,
        Input("rinse", "Rinse that leaves the line", VOLUME, "300 ml", needed=False,
              science_names=("rinse",)),
        Input("residual", "Wanted residual", Kind.PERCENT, "", needed=False,
              science_names=("content wanted",)),
    ),
    one_of=("rinse", "residual"),
    work=_rinse,
    relation="Two bounds: the rinse pushes like a piston, or it mixes, C = C0 exp(-V/Vs).",
    source="Plug flow and the stirred tank.",
    verified="computed; held against worked examples",
    range="Up to 100 000 line volumes.",
    uncertainty="The two bounds bracket a clean straight tube.",
    cautions=(_NO_CLEAN_CLAIM, CLEANING_CHEMICALS),
)  # fmt: skip
CARRY_OVER = Calculator(
    name="carry-over",
    title="Allergen carried over",
    purpose="Allergen protein of the last drink in the next pour, against reference doses.",
    subject=SUBJECT,
    inputs=(
        HOLD_UP,
        Input("protein", "Allergen protein in the last drink", Kind.CONCENTRATION, "3 g/L",
              science_names=("protein of the last drink",)),
        Input("rinse", "Rinse that left the line", VOLUME, "300 ml", science_names=("rinse",)),
        Input("pour", "Largest pour sold", VOLUME, "150 ml", science_names=("pour",)),
        Choice("allergen", "Allergen", _allergens(), "almond", needed=False,
               blank_means="every source with a reference dose"),
    ),
    work=_carry_over,
    relation=(
        "What the rinse leaves by both bounds. The mixed bound is held against the doses as "
        "though all of it came in one pour."
    ),
    source="Plug flow, stirred tank; doses of FAO/WHO (2022, 2023) and Belgian advice 24-2017.",
    verified="computed; the doses are second-hand",
    range="Up to 1000 g/L of protein.",
    uncertainty="The two bounds bracket a clean straight tube; more can be left.",
    cautions=(
        "A reference dose serves precautionary decisions about unintended presence. It is no "
        "limit for a claim of absence, and a guest may react to less.",
        _NO_CLEAN_CLAIM,
        ALLERGENS,
    ),
)  # fmt: skip
CALCULATORS = (LINE_VOLUME, LINE_FLOW, DILUTION, RINSE, CARRY_OVER)
