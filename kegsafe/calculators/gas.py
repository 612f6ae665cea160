"""CO2 outside the keg: in a room, and in its cylinder."""

from kegsafe.calculators.calculator import Answer, Calculator, Given, Input, PartsInput, Result
from kegsafe.calculators.plot import Axis, Level, Line, Plot
from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.quantities import Kind, Quantity, UnitSystem, in_unit
from kegsafe.science import cylinders, gas_release
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.tables import Row, rows

SUBJECT = "CO2 in the room and in the cylinder"
PPM, ROOM = Kind.GAS_FRACTION, Kind.ROOM_VOLUME

# The limits shown in the plot: the long one, the short one, and where danger is immediate.
_PLOTTED = ("OSHA PEL", "WEL short term", "NIOSH IDLH (revised 1994)")
_NOT_IN_FORCE = ("vacated", "superseded")


def _limits() -> list[Row]:
    """Published limits of exposure that are in force; effects on people are no limits."""
    return [
        row
        for row in rows("science/co2_exposure")
        if row["regime"] != "effect"
        and "alarm" not in row["limit_name"]
        and not any(word in row["limit_name"] for word in _NOT_IN_FORCE)
    ]


def _release(given: Given) -> Answer:
    mass, room = given.number("mass", "kg"), given.number("room", "m3")
    temperature = given.number("temperature", "°C")
    found = gas_release.full_release(mass, room, temperature)
    results = [
        Result("concentration", "CO2 if all of it escapes", found.screening_ppm, "ppm", PPM),
        Result("gas", "Volume of the gas", found.gas_m3, "m3", ROOM),
        Result("mixed", "CO2 if it pushes mixed air out", found.mixed_ppm, "ppm", PPM),
        Result("oxygen", "Oxygen left by then", found.oxygen_percent, "%", Kind.PERCENT),
        *_decay(given, max(found.screening_ppm, gas_release.OUTDOOR_PPM)),
        *_least_rooms(given, mass, temperature),
    ]
    dangerous = found.screening_ppm >= min(float(row["ppm"]) for row in _limits())
    says = "Above a published limit of exposure: detection, ventilation and a plan are called for."
    return Answer(tuple(results), warnings=(says,) if dangerous else ())


def _decay(given: Given, start_ppm: float) -> list[Result]:
    if not given.has("air_changes"):
        return []
    changes = given.number("air_changes", "1/h")
    times = [row[0] for row in given.parts.get("times", ())]
    hours = [float(in_unit(time, "h")) for time in times if time] or [0.25, 0.5, 1.0, 2.0]
    group = "After ventilating (the least it can be)"
    found = [(hour, gas_release.decayed_ppm(start_ppm, changes, hour)) for hour in hours]
    return [
        Result(f"after_{hour:g}_h", _time_text(hour), ppm, "ppm", PPM, group=group)
        for hour, ppm in found
    ]


def _time_text(hours: float) -> str:
    return f"After {hours:g} h" if hours >= 1.0 else f"After {60.0 * hours:g} min"


def _least_rooms(given: Given, mass_kg: float, temperature_degc: float) -> list[Result]:
    own = [row[0] for row in given.parts.get("limits", ()) if row[0]]
    named = [(f"your limit of {_ppm(limit):g} ppm", _ppm(limit)) for limit in own]
    if not own:
        named = [
            (f"{row['regime']} {row['limit_name']}, {row['averaging']}", float(row["ppm"]))
            for row in _limits()
        ]
    return [
        Result(
            f"least_room_{number}",
            f"{name} ({ppm:g} ppm)" if not own else name[0].upper() + name[1:],
            gas_release.least_room_m3(mass_kg, ppm, temperature_degc),
            "m3",
            ROOM,
            group="Least room in which all of it just reaches a limit",
        )
        for number, (name, ppm) in enumerate(named, start=1)
    ]


def _ppm(limit: Quantity) -> float:
    return float(in_unit(limit, "ppm"))


def _release_plot(given: Given, units: UnitSystem) -> Plot:
    found = gas_release.full_release(
        given.number("mass", "kg"), given.number("room", "m3"), given.number("temperature", "°C")
    )
    changes = given.number_or("air_changes", "1/h", 0.0)
    start = max(found.screening_ppm, gas_release.OUTDOOR_PPM)
    end = min(24.0, 5.0 / changes) if changes > 0.0 else 4.0
    times = [end * step / 48.0 for step in range(49)]
    levels = [
        Level(
            f"{row['limit_name'].partition(' (')[0]} {float(row['ppm']) / 1e4:g} %",
            float(row["ppm"]),
        )
        for row in _limits()
        if row["limit_name"] in _PLOTTED
    ]
    air = f"{changes:g} air changes an hour" if changes else "no ventilation"
    y = Axis("CO2 in the room", PPM, "%", ("%", "%"))
    return Plot(
        title="CO2 in the room against time",
        x=Axis("Time after the release", Kind.TIME, "h", ("h", "h")),
        y=y,
        lines=[Line(air, [(t, gas_release.decayed_ppm(start, changes, t) / 1e4) for t in times])],
        levels=[Level(level.name, level.at / 1e4) for level in levels],
        sentence=(
            f"It starts at {y.text(start / 1e4, units)} CO2 and clears with {air} at best as "
            "drawn; gas that lies near the floor clears more slowly."
        ),
        point=(0.0, start / 1e4),
        point_name="all of it escaped",
    )


def _cylinder_pressure(given: Given) -> Answer:
    ratio, temperature = given.number("filling_ratio", "kg/L"), given.number("temperature", "°C")
    state = cylinders.cylinder_state(ratio, temperature)
    results = [
        Result("pressure", "Pressure in the cylinder", state.pressure_bar_abs, "bar absolute",
               Kind.ABSOLUTE_PRESSURE),
        Result("phase", "It holds", state.phase.value),
        Result("liquid_fraction", "Share of the volume that is liquid", state.liquid_fraction,
               "of 1", Kind.FRACTION),
    ]  # fmt: skip
    try:
        full = cylinders.liquid_full_at_degc(ratio)
    except OutsideRange:
        return Answer(tuple(results))
    results.append(Result("liquid_full_at", "Full of liquid at", full, "degC", Kind.TEMPERATURE))
    warning = "From there every degree adds several bar. Keep cylinders cool and out of the sun."
    return Answer(tuple(results), warnings=(warning,) if temperature >= full - 5.0 else ())


def _content(given: Given) -> Answer:
    found = cylinders.cylinder_content(
        given.number("gross", "kg"),
        given.number("tare", "kg"),
        given.number_or_none("per_keg", "g"),
    )
    unknown = "the CO2 per keg was not given" if found.kegs_left is None else ""
    return Answer(
        (
            Result("co2", "CO2 left", found.co2_kg, "kg", Kind.MASS),
            Result("kegs", "Whole kegs it still serves", found.kegs_left, says=unknown),
        )
    )


_CO2_MASS = Input("mass", "CO2 that can escape", Kind.MASS, "10 kg", science_names=("mass of CO2",))
GAS_RELEASE = Calculator(
    name="gas-release",
    title="CO2 release into a room",
    purpose="CO2 in a room if a cylinder empties, how it clears, and the least room for a limit.",
    subject=SUBJECT,
    inputs=(
        _CO2_MASS,
        Input("room", "Free volume of the room", ROOM, "40 m3", science_names=("room volume",)),
        Input(
            "temperature",
            "Temperature of the room",
            Kind.TEMPERATURE,
            "",
            needed=False,
            default="20 °C",
            blank_means="20 °C",
            science_names=("room temperature",),
        ),
        Input(
            "air_changes",
            "Fresh air",
            Kind.AIR_CHANGES,
            "6 air changes/h",
            needed=False,
            blank_means="no ventilation; nothing clears",
            science_names=("air changes per hour",),
        ),
        PartsInput(
            "times",
            "Times to look at",
            (Input("time", "Time", Kind.TIME, "30 min"),),
            '[["15 min"], ["1 h"]]',
            needed=False,
            blank_means="15 and 30 minutes, 1 and 2 hours",
        ),
        PartsInput(
            "limits",
            "Limits to keep to",
            (Input("limit", "Limit", PPM, "5000 ppm"),),
            "",
            needed=False,
            blank_means="the published limits of exposure on file",
        ),
    ),
    work=_release,
    relation=(
        "Ideal gas at the temperature of the room, spread evenly. Ventilation thins it as in a "
        "mixed room, C = C0 exp(-n t) above the 400 ppm of fresh air."
    ),
    source=(
        "Conservation of volume and mass balance of a mixed room. Limits: the rows of the table "
        "of exposure limits, each with its document; 400 ppm outdoors second-hand."
    ),
    verified="computed; no standard was read",
    range="Up to 5000 kg, rooms of 1 to 100 000 m3, -20 to 50 °C, up to 100 air changes an hour.",
    uncertainty=(
        "A screening figure. CO2 does not mix of itself: near the floor and in pits it can be "
        "several times stronger, and it clears more slowly than shown."
    ),
    cautions=(
        "Nobody enters a room on the strength of a calculation: re-entry follows a measured "
        "reading, local rules and a competent person.",
        CO2_AND_PRESSURE,
    ),
    plot=_release_plot,
)
CYLINDER_PRESSURE = Calculator(
    name="cylinder-pressure",
    title="Pressure in a CO2 cylinder",
    purpose="Absolute pressure in a closed CO2 cylinder, and whether liquid is left.",
    subject=SUBJECT,
    inputs=(
        Input(
            "filling_ratio",
            "Filling ratio: CO2 in it over its water capacity",
            Kind.FILLING_RATIO,
            "0.68 kg/L",
            science_names=("filling ratio", "CO2 density"),
        ),
        Input(
            "temperature",
            "Temperature of the cylinder",
            Kind.TEMPERATURE,
            "20 degC",
            science_names=("CO2 temperature",),
        ),
    ),
    work=_cylinder_pressure,
    relation=(
        "Reference equation of state of CO2: the saturation line while liquid and gas are both "
        "there, the pressure of one phase otherwise."
    ),
    source="Span and Wagner 1996, J. Phys. Chem. Ref. Data 25:1509.",
    verified="second-hand: coefficients as coded in a reference library, and held against it",
    range="0.01 to 0.85 kg/L, -20 to 65 °C.",
    uncertainty="0.3 bar. The swelling of the steel, which lowers it a little, is left out.",
    cautions=(
        "While liquid is left the gauge shows the temperature and nothing of the content: weigh.",
        CO2_AND_PRESSURE,
    ),
)
CYLINDER_CONTENT = Calculator(
    name="cylinder-content",
    title="CO2 left in a cylinder",
    purpose="CO2 left in a weighed cylinder, and the kegs it still serves.",
    subject=SUBJECT,
    inputs=(
        Input(
            "gross",
            "Weight on the scale, cap and hose off",
            Kind.MASS,
            "14.2 kg",
            science_names=("gross weight",),
        ),
        Input(
            "tare",
            "Tare stamped on the shoulder",
            Kind.MASS,
            "9.1 kg",
            science_names=("tare weight",),
        ),
        Input(
            "per_keg",
            "CO2 one keg takes",
            Kind.MASS,
            "309 g",
            needed=False,
            blank_means="kegs are not counted",
            science_names=("CO2 per keg",),
        ),
    ),
    work=_content,
    relation="Weight less tare. Nine tenths of it are counted on; the last tenth stays as gas.",
    source="Conservation of mass; nine tenths is a rule of this program.",
    verified="computed",
    range="Tare 0.2 to 200 kg, at most 100 kg of CO2.",
    uncertainty="That of the scale.",
    cautions=(CO2_AND_PRESSURE,),
)
CALCULATORS = (GAS_RELEASE, CYLINDER_PRESSURE, CYLINDER_CONTENT)
