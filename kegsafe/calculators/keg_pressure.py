"""A keg shut off: what warming does to its pressure, and what a pressure-decay test shows."""

from kegsafe.calculators.calculator import Answer, Calculator, Given, Input, Result
from kegsafe.calculators.carbonation import ALTITUDE, SUBJECT
from kegsafe.calculators.plot import Axis, Level, Line, Plot
from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.quantities import Kind, UnitSystem, write
from kegsafe.science import pressure_decay
from kegsafe.science.atmosphere import absolute_from_gauge_bar, standard_pressure_bar_abs
from kegsafe.science.warm_up import (
    HIGHEST_DEGC,
    LEAST_GAP,
    Crossing,
    LiquidFull,
    SealedKeg,
    WarmUp,
    warm_up,
)

GAUGE, TEMPERATURE, VOLUME = Kind.GAUGE_PRESSURE, Kind.TEMPERATURE, Kind.VOLUME


def _keg(given: Given) -> SealedKeg:
    return SealedKeg(
        given.number("keg", "L"),
        given.number("liquid", "L"),
        given.number("temperature", "°C"),
        given.number("pressure", "bar gauge"),
        given.number_or("altitude", "m", 0.0),
    )


def _warm_up(given: Given) -> Answer:
    rated = given.number_or_none("rated", "bar gauge")
    relief = given.number_or_none("relief", "bar gauge")
    keg = _keg(given)
    try:
        found = warm_up(
            keg,
            given.number("new_temperature", "°C"),
            rated_gauge_bar=rated,
            relief_gauge_bar=relief,
        )
    except LiquidFull as full:
        return _full_of_liquid(full, rated, relief)
    results = [
        Result("pressure", "Gauge pressure after warming", found.gauge_bar, "bar gauge", GAUGE),
        Result(
            "cautious_pressure",
            "To hold against the marks (10 % more)",
            found.cautious_gauge_bar,
            "bar gauge",
            GAUGE,
        ),
        *_marks(found),
        Result("co2", "All CO2 in the keg", found.co2_g, "g", Kind.MASS),
        _full_at(found.liquid_full_at),
        Result("fill_limit", "Full of liquid if it holds", found.fill_limit_l, "L", VOLUME),
        Result("least_gap", "Head space to keep", found.least_gap_l, "L", VOLUME),
    ]
    return Answer(tuple(results), warnings=tuple(_warnings(keg, found)))


def _marks(found: WarmUp) -> list[Result]:
    """How the pressure stands to the relief valve and to the rating."""
    marks = [
        _mark("relief", "the relief setting", found.passes_relief, found.relief_lifts_at),
        _mark("rating", "the rating", found.passes_rating, found.rating_reached_at),
    ]
    return [result for pair in marks for result in pair]


def _mark(key: str, name: str, passes: bool | None, reached: Crossing | None) -> tuple[Result, ...]:
    label = f"Passes {name}"
    if passes is None or reached is None:
        unknown = f"{name} was not given, so nothing can be said"
        return (Result(f"passes_{key}", label, None, says=unknown),)
    at = reached.temperature_degc if reached.is_reached else None
    up_to = f"not up to {write(HIGHEST_DEGC, TEMPERATURE, 'metric', both=True)}"
    return (
        Result(f"passes_{key}", label, passes),
        Result(
            f"{key}_reached_at",
            f"Reaches {name} at",
            at,
            "degC",
            TEMPERATURE,
            says="" if at is not None else up_to,
        ),
    )


def _full_at(full: Crossing) -> Result:
    at = full.temperature_degc if full.is_reached else None
    says = "" if full.is_reached else "not in the range of this relation"
    return Result("liquid_full_at", "Full of liquid at", at, "degC", TEMPERATURE, says=says)


def _warnings(keg: SealedKeg, found: WarmUp) -> list[str]:
    warnings = []
    if found.passes_rating:
        warnings.append("Above the rating: such a keg is not warmed. Vent it, or keep it cold.")
    if found.passes_relief:
        warnings.append("The relief valve is expected to lift and to let CO2 into the room.")
    if found.passes_rating is None:
        warnings.append("No rating was given. Read it off the keg: a blank never means unlimited.")
    if keg.keg_volume_l - keg.liquid_volume_l < LEAST_GAP * keg.keg_volume_l:
        warnings.append("The head space is less than a twentieth of the keg. Fill it less.")
    return warnings


def _full_of_liquid(full: LiquidFull, rated: float | None, relief: float | None) -> Answer:
    """No pressure is computed once the head space is gone: it has no upper end."""
    return Answer(
        (
            Result(
                "pressure", "Gauge pressure after warming", None, says="no limit: full of liquid"
            ),
            Result("passes_relief", "Passes the relief setting", None if relief is None else True),
            Result("passes_rating", "Passes the rating", None if rated is None else True),
            Result("liquid_full_at", "Full of liquid at", full.full_at_degc, "degC", TEMPERATURE),
            Result("fill_limit", "Full of liquid if it holds", full.fill_limit_l, "L", VOLUME),
        ),
        warnings=(str(full).replace("degC", "°C"),),
    )


def _warm_up_plot(given: Given, units: UnitSystem) -> Plot:
    keg, new = _keg(given), given.number("new_temperature", "°C")
    full = keg.liquid_full_at()
    last = full.temperature_degc - 0.05 if full.is_reached else HIGHEST_DEGC
    x = Axis("Temperature of the keg", TEMPERATURE, "°C", ("°C", "°F"))
    y = Axis("Gauge pressure", GAUGE, "bar gauge", ("bar", "psi"))
    curve = [(t, keg.gauge_bar_at(t)) for t in _steps(keg.temperature_degc, last)]
    marks = (("rated", "rated pressure"), ("relief", "relief setting"))
    levels = [Level(name, given.number(key, "bar gauge")) for key, name in marks if given.has(key)]
    point = (new, keg.gauge_bar_at(new)) if new <= last else None
    ceiling = max([2.0 * curve[0][1] + 1.0, *(1.25 * each.at for each in levels)])
    at = f"{y.text(point[1], units)} at {x.text(new, units)}" if point else "full of liquid first"
    return Plot(
        title="Pressure of a sealed, warming keg",
        x=x,
        y=y,
        lines=[Line("sealed keg", curve)],
        levels=levels,
        sentence=f"The pressure rises as the keg warms. The point is your keg: {at}.",
        point=point,
        point_name="your keg",
        highest=max(ceiling, 1.1 * point[1]) if point else ceiling,
    )


def _steps(start: float, end: float, count: int = 40) -> list[float]:
    return [start + (end - start) * step / count for step in range(count + 1)]


def _decay(given: Given) -> Answer:
    air = standard_pressure_bar_abs(given.number_or("altitude", "m", 0.0))
    found = pressure_decay.leak_test(
        volume_l=given.number("volume", "L"),
        start_bar_abs=absolute_from_gauge_bar(given.number("start_pressure", "bar gauge"), air),
        start_degc=given.number("start_temperature", "°C"),
        end_bar_abs=absolute_from_gauge_bar(given.number("end_pressure", "bar gauge"), air),
        end_degc=given.number("end_temperature", "°C"),
        hours=given.number("time", "h"),
        pressure_error_bar=given.number("gauge_error", "bar"),
        temperature_error_degc=given.number("thermometer_error", "K"),
    )
    drop, leak = Kind.PRESSURE_DIFFERENCE, Kind.LEAK_RATE
    visible = "yes" if found.is_visible else "no; that is no proof of tightness"
    results = (
        Result("leak", "CO2 lost, corrected for temperature", found.leak_g_per_h, "g/h", leak),
        Result("drop", "Drop, corrected for temperature", found.corrected_drop_bar, "bar", drop),
        Result(
            "leak_flow", "The same as a leak tester states it", found.leak_mbar_l_per_s, "mbar L/s"
        ),
        Result(
            "smallest_visible",
            "Smallest leak this test can see",
            found.smallest_visible_g_per_h,
            "g/h",
            leak,
        ),
        Result("is_visible", "Stands out of the errors", found.is_visible, says=visible),
    )
    return Answer(results)


_KEG = Input("keg", "Volume of the keg", VOLUME, "19 L", science_names=("keg volume",))
_MARK_NAMES = ("pressure to compare with",)

WARM_UP = Calculator(
    name="warm-up",
    title="Warm-up of a sealed keg",
    purpose="Gauge pressure of a carbonated keg that is shut off and warms.",
    subject=SUBJECT,
    inputs=(
        _KEG,
        Input("liquid", "Drink in it", VOLUME, "17 L", science_names=("liquid in the keg",)),
        Input(
            "temperature",
            "Temperature at which it settled",
            TEMPERATURE,
            "2 degC",
            science_names=("temperature",),
        ),
        Input(
            "pressure",
            "Gauge pressure at which it settled",
            GAUGE,
            "50 psi",
            science_names=("gauge pressure",),
        ),
        Input(
            "new_temperature",
            "Temperature it warms to",
            TEMPERATURE,
            "20 degC",
            science_names=("new temperature",),
        ),
        Input(
            "rated",
            "Rated pressure, off the keg",
            GAUGE,
            "9 bar",
            needed=False,
            blank_means="not compared; a blank never means unlimited",
            science_names=_MARK_NAMES,
        ),
        Input(
            "relief",
            "Setting of its relief valve",
            GAUGE,
            "7 bar",
            needed=False,
            blank_means="not compared",
        ),
        ALTITUDE,
    ),
    work=_warm_up,
    relation=(
        "The amount of CO2 stays. It shares itself anew between drink and head space by the "
        "carbonation relation, with the vapour pressure and the swelling of water."
    ),
    source="Weiss 1974, Marine Chemistry 2:203-215; ICUMSA for the density of water.",
    verified="computed from a solubility held against tables; no measured keg was at hand",
    range="1 to 100 L, 0 to 45 °C, settled at 0 to 5 bar gauge, no air in the head space.",
    uncertainty=(
        "Water: 4 % of the pressure. For drinks take 10 %: the figure to hold against a rating "
        "is ten per cent above the best guess."
    ),
    cautions=(
        "If the keg was not settled when it was read, it holds more or less gas than this says.",
        CO2_AND_PRESSURE,
    ),
    plot=_warm_up_plot,
)
PRESSURE_DECAY = Calculator(
    name="pressure-decay",
    title="Pressure-decay leak test",
    purpose="Leak rate of shut-in gas from two readings, corrected for temperature.",
    subject=SUBJECT,
    inputs=(
        Input("volume", "Gas volume shut in", VOLUME, "5 L", science_names=("gas volume",)),
        Input(
            "start_pressure",
            "Gauge pressure at the start",
            GAUGE,
            "3.4 bar",
            science_names=("pressure at the start",),
        ),
        Input(
            "start_temperature",
            "Temperature at the start",
            TEMPERATURE,
            "20 degC",
            science_names=("temperature at the start",),
        ),
        Input(
            "end_pressure",
            "Gauge pressure at the end",
            GAUGE,
            "3.3 bar",
            science_names=("pressure at the end",),
        ),
        Input(
            "end_temperature",
            "Temperature at the end",
            TEMPERATURE,
            "20 degC",
            science_names=("temperature at the end",),
        ),
        Input("time", "Time between the readings", Kind.TIME, "12 h", science_names=("test time",)),
        Input(
            "gauge_error",
            "Error of one gauge reading",
            Kind.PRESSURE_DIFFERENCE,
            "",
            needed=False,
            default=f"{pressure_decay.DIAL_GAUGE_BAR} bar",
            blank_means="0.16 bar, a dial of 0 to 10 bar of class 1.6",
            science_names=("error of the gauge",),
        ),
        Input(
            "thermometer_error",
            "Error of one temperature reading",
            Kind.TEMPERATURE_DIFFERENCE,
            "",
            needed=False,
            default=f"{pressure_decay.THERMOMETER_DEGC} °C",
            blank_means="1 °C",
            science_names=("error of the thermometer",),
        ),
        ALTITUDE,
    ),
    work=_decay,
    relation=(
        "Ideal gas: the pressure at the start is moved to the temperature at the end, and what "
        "is missing is gas that left. The smallest visible leak is the error of the difference "
        "of two readings."
    ),
    source="Ideal-gas law.",
    verified="computed",
    range="Gas alone, 0.01 to 1000 L, 0.5 to 12 bar absolute, -10 to 50 °C, at least 3 minutes.",
    uncertainty=(
        "The smallest visible leak is the answer's own error. For CO2 the rate is 5 % low at "
        "5 bar absolute and 13 % low at 12."
    ),
    cautions=(
        "Only for a keg or line that holds gas alone: with drink inside, gas that dissolves "
        "looks like a leak and gas that comes out hides one.",
        "A test for leaks is no proof of strength; that is for a licensed or competent person.",
        CO2_AND_PRESSURE,
    ),
)
CALCULATORS = (WARM_UP, PRESSURE_DECAY)
