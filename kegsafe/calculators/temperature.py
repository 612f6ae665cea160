"""Temperature: the boiling-point check, and what a temperature log adds up to."""

from kegsafe.calculators.calculator import Answer, Calculator, Given, Input, LogInput, Result
from kegsafe.quantities import Kind
from kegsafe.science import boiling_point, growth, mean_kinetic_temperature

SUBJECT = "Temperature and time"
TEMPERATURE, TIME = Kind.TEMPERATURE, Kind.TIME

LOG_EXAMPLE = "0 h, 4 °C\n1 h, 4 °C\n2 h, 8 °C\n3 h, 12 °C\n4 h, 9 °C\n5 h, 6 °C\n6 h, 5 °C"


def _boiling(given: Given) -> Answer:
    if given.has("altitude"):
        found = boiling_point.boiling_point_at_altitude(given.number("altitude", "m"))
    else:
        air = given.number("air_pressure", "bar absolute")
        found = boiling_point.boiling_point_at_pressure(air)
    results = (
        Result("boiling_point", "A good thermometer shows", found.temperature_degc, "degC",
               TEMPERATURE),
        Result("air_pressure", "Pressure of the air", found.air_bar_abs, "bar absolute",
               Kind.ABSOLUTE_PRESSURE),
    )  # fmt: skip
    return Answer(results, uncertainty=f"{found.uncertainty_degc:g} °C here.")


def _growth(given: Given) -> Answer:
    if given.has("log"):
        return _growth_of_log(given)
    rate = growth.relative_rate(given.number("temperature", "°C"))
    results = [Result("relative_rate", "Growth rate over the rate at 5 °C", rate)]
    hours = given.number_or_none("time", "h")
    if hours is not None:
        results += [
            Result("equivalent", "As many hours at 5 °C", 3600.0 * rate * hours, "s", TIME),
            Result("charged", "Hours to charge", 3600.0 * max(1.0, rate) * hours, "s", TIME),
        ]
    return Answer(tuple(results))


def _growth_of_log(given: Given) -> Answer:
    log = [growth.Reading(at, degc) for at, degc in given.logs["log"]]
    found = growth.exposure(log, log[0].at_h, log[-1].at_h)
    unread = "not known: hours are missing from the log" if found.unverified_h else ""
    charged = None if unread else found.known_charged_h
    warnings = []
    if found.unverified_h:
        warnings.append("The log has gaps of more than 4 hours. An unread hour is no cold hour.")
    if found.left_the_range:
        warnings.append("A reading is warmer than the model was fitted for. Trust the alarm.")
    results = (
        Result("charged", "Hours to charge", _s(charged), "s", TIME, says=unread),
        Result("equivalent", "As many hours at 5 °C", _s(found.equivalent_h), "s", TIME,
               says=unread),
        Result("known_equivalent", "Of the hours that were read", 3600.0 * found.known_equivalent_h,
               "s", TIME),
        Result("unverified", "Hours nobody read", 3600.0 * found.unverified_h, "s", TIME),
        Result("worse_step", "Hours charged at the worse of two readings",
               3600.0 * found.worse_step_h, "s", TIME),
        Result("warmest", "Warmest", found.warmest_degc, "degC", TEMPERATURE),
    )  # fmt: skip
    return Answer(results, warnings=tuple(warnings))


def _s(hours: float | None) -> float | None:
    return None if hours is None else 3600.0 * hours


def _mean_kinetic(given: Given) -> Answer:
    log = given.logs["log"]
    found = mean_kinetic_temperature.from_log(log)
    hours = log[-1][0] - log[0][0]
    temperatures = [degc for _, degc in log]
    return Answer(
        (
            Result("mean_kinetic_temperature", "Mean kinetic temperature", found, "degC",
                   TEMPERATURE),
            Result("coldest", "Coldest reading", min(temperatures), "degC", TEMPERATURE),
            Result("warmest", "Warmest reading", max(temperatures), "degC", TEMPERATURE),
            Result("time", "Time covered", 3600.0 * hours, "s", TIME),
        )
    )  # fmt: skip


BOILING_POINT = Calculator(
    name="boiling-point",
    title="Boiling point",
    purpose="What a good thermometer shows in boiling water, here and today.",
    subject=SUBJECT,
    inputs=(
        Input("altitude", "Altitude of the bar", Kind.ALTITUDE, "5000 ft", needed=False,
              science_names=("altitude",)),
        Input("air_pressure", "Air pressure read in the room", Kind.ABSOLUTE_PRESSURE, "",
              needed=False, science_names=("air pressure",)),
    ),
    one_of=("altitude", "air_pressure"),
    work=_boiling,
    relation="The saturation line of water at the pressure of the air.",
    source="Wagner and Pruss 1993 for water; ISO 2533 for the air at an altitude.",
    verified="memory, held against the reference equation of water and the standard's table",
    range="-500 to 4500 m, 0.5 to 1.1 bar absolute.",
    uncertainty="0.1 °C from a barometer in the room, 0.5 °C from the altitude: weather moves it.",
    cautions=(
        "A weather report gives the pressure at sea level, not that of the room.",
        "Boiling water scalds. The allowed error of a thermometer is the local code's.",
    ),
)  # fmt: skip
GROWTH = Calculator(
    name="growth",
    title="Growth and time",
    purpose="Relative growth rate, and a temperature log as hours at 5 °C.",
    subject=SUBJECT,
    inputs=(
        Input("temperature", "Temperature", TEMPERATURE, "10 degC", needed=False,
              science_names=("temperature",)),
        Input("time", "Time at it", TIME, "6 h", needed=False,
              blank_means="the rate alone; a log brings its own times"),
        LogInput("log", "Temperature log", LOG_EXAMPLE, needed=False),
    ),
    one_of=("temperature", "log"),
    work=_growth,
    relation=(
        "Square-root model, rate proportional to (T + 1.18 °C)², as a ratio to 5 °C. Readings "
        "up to an hour apart are joined by a line; up to four hours the worse one stands."
    ),
    source="Ratkowsky et al. 1982, J. Bacteriol. 154:1222-1226; FDA/FSIS/CDC 2003 for the foot.",
    verified="form second-hand; the foot from memory, confirmed from the published rates",
    range="-40 to 60 °C read, fitted for 0 to 25 °C; above 35 °C the rate of 35 °C stands.",
    uncertainty="About 30 % at 10 °C; any rate may be off by a factor of 2.",
    cautions=(
        "Used only to shorten a date or to ask. It predicts no counts, and nothing here makes a "
        "drink last longer. The code and a competent person decide.",
    ),
)  # fmt: skip
MEAN_KINETIC_TEMPERATURE = Calculator(
    name="mean-kinetic-temperature",
    title="Mean kinetic temperature",
    purpose="The steady warmth that would have aged an ingredient as much as a log did.",
    subject=SUBJECT,
    inputs=(LogInput("log", "Temperature log", LOG_EXAMPLE),),
    work=_mean_kinetic,
    relation=(
        "Mean of the Arrhenius factor with 83.144 kJ/mol over the time of the log, each step "
        "at the mean of its two ends."
    ),
    source="USP 29, chapter 1160; weighting by time after Tong and Lock 2015.",
    verified="read; the weighting second-hand",
    range="-60 to 80 °C, two readings or more.",
    uncertainty="That of the log.",
    cautions=(
        "It speaks of chemistry only and forgives warm spells that bacteria do not. Never judge "
        "the safety of food by it.",
    ),
)  # fmt: skip
CALCULATORS = (BOILING_POINT, GROWTH, MEAN_KINETIC_TEMPERATURE)
