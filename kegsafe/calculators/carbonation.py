"""Carbonation: what dissolves at a gauge pressure, and the pressure that holds it."""

from kegsafe.calculators.calculator import Answer, Calculator, Given, Input, Result
from kegsafe.calculators.plot import Axis, Line, Plot
from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.quantities import Kind, UnitSystem, write
from kegsafe.science import carbonation as science
from kegsafe.science.atmosphere import standard_pressure_bar_abs

SUBJECT = "Carbonation and keg pressure"
PLAIN_WATER = "plain water is taken, which holds the most gas"
SEA_LEVEL = "sea level is taken"

TEMPERATURE = Input(
    "temperature",
    "Temperature of the drink",
    Kind.TEMPERATURE,
    "2 degC",
    science_names=("drink temperature", "gas temperature", "temperature"),
)
BRIX = Input(
    "brix",
    "Sugar in the drink, from the recipe",
    Kind.SUGAR,
    "",
    needed=False,
    blank_means=PLAIN_WATER,
    science_names=("sugar",),
)
ABV = Input(
    "abv",
    "Alcohol in the drink",
    Kind.ALCOHOL,
    "",
    needed=False,
    blank_means=PLAIN_WATER,
    science_names=("alcohol",),
)
ALTITUDE = Input(
    "altitude",
    "Altitude of the bar",
    Kind.ALTITUDE,
    "",
    needed=False,
    blank_means=SEA_LEVEL,
    science_names=("altitude",),
)
RELATION = (
    "Solubility of CO2 in water by Weiss, with his corrections for the real gas, at the "
    "absolute pressure less the vapour pressure of water. Sugar and alcohol lower it by half "
    "of what the European wine method says: the middle between that method and plain water."
)
SOURCE = (
    "Weiss 1974, Marine Chemistry 2:203-215; Regulation (EEC) 2676/90 for sugar and alcohol; "
    "ISO 2533 for the air at an altitude."
)
VERIFIED = (
    "second-hand: constants from several public codes that agree; held against 43 rows of nine "
    "published series, 20 of a geochemistry library and two independent relations"
)
RANGE = (
    "0 to 45 °C, 0 to 5 bar gauge, up to 18 °Brix and 15 % vol, -500 to 4500 m. The drink has "
    "settled with the gas connected, and there is no air in the head space."
)
UNCERTAINTY = (
    "Water: 3 % of the amount. With sugar or alcohol: anywhere between the lowest and the "
    "highest figure, as published sources differ by ten per cent."
)
CAUTIONS = (
    "A keg rolled for a minute holds less than this; the figure is where it ends if the gas "
    "stays connected.",
    CO2_AND_PRESSURE,
)


def _drink(given: Given) -> dict[str, float]:
    return {
        "brix": given.number_or("brix", "°Brix", 0.0),
        "abv_percent": given.number_or("abv", "% vol", 0.0),
        "altitude_m": given.number_or("altitude", "m", 0.0),
    }


def _dissolved(given: Given) -> Answer:
    found = science.carbonation(
        given.number("temperature", "°C"), given.number("pressure", "bar gauge"), **_drink(given)
    )
    volumes = Kind.CO2_VOLUMES
    return Answer(
        (
            Result("volumes", "Dissolved CO2", found.volumes, "volumes", volumes),
            Result("grams", "The same by weight", found.g_per_l, "g/L", Kind.CONCENTRATION),
            Result("least_volumes", "At the least", found.least_volumes, "volumes", volumes),
            Result("most_volumes", "At the most", found.most_volumes, "volumes", volumes),
        )
    )


def _pressure(given: Given) -> Answer:
    found = science.carbonation_pressure(
        given.number("temperature", "°C"), given.number("volumes", "volumes"), **_drink(given)
    )
    gauge = Kind.GAUGE_PRESSURE
    return Answer(
        (
            Result("pressure", "Gauge pressure to set", found.gauge_bar, "bar gauge", gauge),
            Result("least_pressure", "At the least", found.least_gauge_bar, "bar gauge", gauge),
            Result("most_pressure", "At the most", found.most_gauge_bar, "bar gauge", gauge),
        )
    )


_PRESSURES = [step / 4.0 for step in range(21)]
_TEMPERATURES = (0.0, 2.0, 4.0, 8.0, 12.0, 20.0)


def _field(given: Given, units: UnitSystem, point: tuple[float, float]) -> Plot:
    """Carbonation against pressure at a few temperatures, and at the one asked about."""
    own = given.number("temperature", "°C")
    others = sorted((t for t in _TEMPERATURES if abs(t - own) >= 1.5), key=lambda t: abs(t - own))
    x = Axis("Gauge pressure", Kind.GAUGE_PRESSURE, "bar gauge", ("bar", "psi"))
    y = Axis("Dissolved CO2", Kind.CO2_VOLUMES, "volumes", ("volumes", "volumes"))
    at = f"{y.text(point[1], units)} at {x.text(point[0], units)}"
    return Plot(
        title="CO2 against gauge pressure",
        x=x,
        y=y,
        lines=[
            Line(_named(t, own, units), _curve(t, _drink(given)))
            for t in sorted([own, *others[:4]])
        ],
        sentence=(
            "The colder the drink and the higher the pressure, the more CO2 it holds. "
            f"The point is your drink: {at}."
        ),
        point=point,
        point_name="your drink",
    )


def _named(temperature_degc: float, own: float, units: UnitSystem) -> str:
    name = write(temperature_degc, Kind.TEMPERATURE, units)
    return f"{name}, yours" if temperature_degc == own else name


def _curve(temperature_degc: float, drink: dict[str, float]) -> list[tuple[float, float]]:
    factor = science.drink_factor(drink["brix"], drink["abv_percent"]).best
    air = standard_pressure_bar_abs(drink["altitude_m"])
    return [
        (gauge, factor * science.volumes_in_water(temperature_degc, gauge + air))
        for gauge in _PRESSURES
    ]


def _dissolved_plot(given: Given, units: UnitSystem) -> Plot:
    volumes = _dissolved(given).results[0].value
    return _field(given, units, (given.number("pressure", "bar gauge"), float(volumes or 0.0)))


def _pressure_plot(given: Given, units: UnitSystem) -> Plot:
    gauge = _pressure(given).results[0].value
    return _field(given, units, (float(gauge or 0.0), given.number("volumes", "volumes")))


CARBONATION = Calculator(
    name="carbonation",
    title="Carbonation",
    purpose="CO2 dissolved in a drink at a temperature and a gauge pressure.",
    subject=SUBJECT,
    inputs=(
        TEMPERATURE,
        Input(
            "pressure",
            "Gauge pressure of the CO2",
            Kind.GAUGE_PRESSURE,
            "50 psi",
            science_names=("gauge pressure",),
        ),
        BRIX,
        ABV,
        ALTITUDE,
    ),
    work=_dissolved,
    relation=RELATION,
    source=SOURCE,
    verified=VERIFIED,
    range=RANGE,
    uncertainty=UNCERTAINTY,
    cautions=CAUTIONS,
    plot=_dissolved_plot,
)
CARBONATION_PRESSURE = Calculator(
    name="carbonation-pressure",
    title="Carbonation pressure",
    purpose="Gauge pressure that holds a wanted carbonation at a temperature.",
    subject=SUBJECT,
    inputs=(
        TEMPERATURE,
        Input(
            "volumes",
            "Wanted carbonation",
            Kind.CO2_VOLUMES,
            "4 volumes",
            science_names=("carbonation",),
        ),
        BRIX,
        ABV,
        ALTITUDE,
    ),
    work=_pressure,
    relation=f"{RELATION} Turned round by halving.",
    source=SOURCE,
    verified=VERIFIED,
    range=RANGE,
    uncertainty=UNCERTAINTY,
    cautions=CAUTIONS,
    plot=_pressure_plot,
)
CALCULATORS = (CARBONATION, CARBONATION_PRESSURE)
