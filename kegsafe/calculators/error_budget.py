"""The honest error budget: every relation against the outside tables kept in `shared/`.

No row here was used to make the relation it checks. A test asserts the same tolerances row
by row; this says how near each relation comes, on the machine that runs it.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from kegsafe.science import (
    alcohol,
    boiling_point,
    carbonation,
    co2_properties,
    cylinders,
    growth,
    line_hydraulics,
    sugar,
    water_activity,
)
from kegsafe.science.tables import Row, rows

# (computed, published) of one row
Pair = tuple[float, float]

_BAR = {"kPa": 0.01, "atm": 1.01325, "bar": 1.0, "psi": 0.0689476}
_WATER_MOL_PER_KG = 55.508
_SUCROSE_G_MOL = 342.30
_KG_M3_PER_LB_US_GAL = 0.45359237 / 3.785411784e-3
_AIR_KG_M3, _BRASS_KG_M3 = 1.2, 8400.0  # buoyancy on weights in air
_SIXTY_DEGF = 15.5556


@dataclass(frozen=True, slots=True)
class Budget:
    """One quantity against one outside source.

    quantity : what is computed
    unit : of deviation and tolerance; "%" for parts of the published value
    tolerance : the most a row may be off
    source : where the published values come from
    pairs : yields what is computed and what was published, row by row
    """

    quantity: str
    unit: str
    tolerance: float
    source: str
    pairs: Callable[[], Iterator[Pair]]

    def deviations(self) -> list[float]:
        """How far each row is off, in the unit of the tolerance."""
        if self.unit == "%":
            return [100.0 * abs(computed / there - 1.0) for computed, there in self.pairs()]
        return [abs(computed - there) for computed, there in self.pairs()]


@dataclass(frozen=True, slots=True)
class Spent:
    """How much of its tolerance a relation uses."""

    budget: Budget
    checks: int
    worst: float

    @property
    def holds(self) -> bool:
        """Whether there were checks, and every one stayed within the tolerance."""
        return self.checks > 0 and self.worst <= self.budget.tolerance


def spent() -> list[Spent]:
    """Every budget with the number of its checks and the worst deviation."""
    measured = [(budget, budget.deviations()) for budget in BUDGETS]
    return [Spent(each, len(off), max(off, default=0.0)) for each, off in measured]


def _number(row: Row, column: str) -> float:
    return float(row[column])


def _reference(name: str) -> tuple[Row, ...]:
    return rows(f"science/reference/{name}")


def _dissolved(series: str) -> Callable[[], Iterator[Pair]]:
    def pairs() -> Iterator[Pair]:
        for row in rows("science/co2_solubility"):
            if row["series"] in series.split() and "outlier" not in row["note"]:
                yield _dissolved_as_printed(row), _number(row, "value")

    return pairs


def _dissolved_as_printed(row: Row) -> float:
    """What the relation gives for a row, in the quantity of that row."""
    t, bar = _number(row, "temperature_degc"), _number(row, "pressure") * _BAR[row["pressure_unit"]]
    if row["pressure_kind"] == "total pressure":
        bar = carbonation.co2_partial_pressure_bar_abs(t, bar)
    mol_per_l = carbonation.dissolved_mol_per_l(t, bar)
    mol_per_kg = mol_per_l * 1000.0 / sugar.water_density_kg_m3(t)
    printed = {
        "1000 x mole fraction CO2": 1000.0 * mol_per_kg / (mol_per_kg + _WATER_MOL_PER_KG),
        "Bunsen coefficient": mol_per_l * carbonation.CO2_L_PER_MOL / (bar / _BAR["atm"]),
        "Ostwald coefficient": mol_per_l / carbonation.gas_mol_per_l(t, bar),
        "volumes CO2 (STP)": mol_per_l * carbonation.CO2_L_PER_MOL,
        "total dissolved C": 1000.0 * mol_per_kg,
        "CO2 at STP per gram of water": mol_per_kg * carbonation.CO2_L_PER_MOL,
    }
    return printed[row["quantity"]]


def _saturation(column: str, relation: Callable[[float], float]) -> Callable[[], Iterator[Pair]]:
    def pairs() -> Iterator[Pair]:
        for row in rows("science/co2_saturation"):
            t = _number(row, "temperature_degc")
            if t <= 30.0:  # in the last degree the densities have a tolerance of their own
                yield relation(t), _number(row, column)

    return pairs


def _isochores() -> Iterator[Pair]:
    for row in rows("science/co2_isochores"):
        ratio, t = _number(row, "filling_ratio_kg_per_l"), _number(row, "temperature_degc")
        yield cylinders.cylinder_state(ratio, t).pressure_bar_abs, _number(row, "pressure_bar_abs")


def _crc(solute: str, highest_percent: float = 100.0) -> Iterator[Row]:
    for row in _reference("crc_aqueous_solutions_20_degc"):
        if row["solute"] == solute and _number(row, "mass_percent") <= highest_percent:
            yield row


def _ethanol_crc() -> Iterator[Pair]:
    for row in _crc("ethanol"):
        share = _number(row, "mass_percent") / 100.0
        yield alcohol.density_kg_m3(share), 1000.0 * _number(row, "density_g_ml")


def _ethanol_bureau() -> Iterator[Pair]:
    for row in _reference("nbs_ethanol_density"):
        share, t = _number(row, "percent_by_weight") / 100.0, _number(row, "temperature_degc")
        yield alcohol.density_kg_m3(share, t), 1000.0 * _number(row, "density_g_ml")


def _ethanol_pharmacopoeia() -> Iterator[Pair]:
    pure = alcohol.density_kg_m3(1.0, _SIXTY_DEGF)
    for row in _reference("usp_alcoholometric_60_degf"):
        share = _number(row, "percent_by_weight") / 100.0
        by_volume = 100.0 * share * alcohol.density_kg_m3(share, _SIXTY_DEGF) / pure
        yield by_volume, _number(row, "percent_by_volume_60_degf")


def _ethanol_lange() -> Iterator[Pair]:
    for row in _reference("lange_ethanol_20_degc"):
        computed = 100.0 * alcohol.mass_fraction_from_abv(_number(row, "percent_by_volume"))
        yield computed, _number(row, "percent_by_weight")


def _sucrose_crc() -> Iterator[Pair]:
    for row in _crc("sucrose", highest_percent=60.0):
        computed = sugar.density_kg_m3(_number(row, "mass_percent"))
        yield computed, 1000.0 * _number(row, "density_g_ml")


def _sucrose_bureau() -> Iterator[Pair]:
    for row in _reference("nbs_c440_syrup_weight"):
        in_air = _number(row, "pounds_per_us_gallon_in_air") * _KG_M3_PER_LB_US_GAL
        in_vacuum = in_air * (1.0 - _AIR_KG_M3 / _BRASS_KG_M3) + _AIR_KG_M3
        yield sugar.density_kg_m3(_number(row, "brix")), in_vacuum


def _sucrose_solubility() -> Iterator[Pair]:
    for row in _reference("sokolovsky_sucrose_solubility"):
        computed = sugar.solubility_brix(_number(row, "temperature_degc"))
        yield computed, _number(row, "percent_by_mass")


def _activity_of_sucrose() -> Iterator[Pair]:
    for row in _reference("osmotic_water_activity_25_degc"):
        if row["solute"] == "sucrose":
            grams = _SUCROSE_G_MOL * _number(row, "molality_mol_kg")
            computed = water_activity.of_sucrose(100.0 * grams / (grams + 1000.0)).value
            yield computed, _number(row, "water_activity")


def _activity_of_salt() -> Iterator[Pair]:
    for row in _reference("osmotic_water_activity_25_degc"):
        if row["solute"] == "sodium chloride":
            computed = water_activity.of_salt(_number(row, "molality_mol_kg"))
            yield computed, _number(row, "water_activity")


def _growth() -> Iterator[Pair]:
    """Rates measured warm, brought to 5 degC as the assessment brought them."""
    for row in rows("science/published_growth_rates"):
        if row["published_at_5_degc_log10_per_day"]:
            rate = growth.relative_rate(_number(row, "temperature_degc"))
            printed = _number(row, "published_at_5_degc_log10_per_day")
            yield _number(row, "value") / rate, printed


def _boiling() -> Iterator[Pair]:
    for row in rows("science/boiling_points"):
        found = boiling_point.boiling_point_at_altitude(0.3048 * _number(row, "altitude_ft"))
        yield found.temperature_degc, _number(row, "boiling_degc")


def _water_density() -> Iterator[Pair]:
    for row in _reference("ict_water"):
        computed = sugar.water_density_kg_m3(_number(row, "temperature_degc"))
        yield computed, 1000.0 * _number(row, "density_g_ml")


def _water_viscosity() -> Iterator[Pair]:
    for row in _reference("ict_water"):
        t = _number(row, "temperature_degc")
        computed = 1e6 * line_hydraulics.water_kinematic_viscosity_m2_s(t)
        yield computed, _number(row, "kinematic_viscosity_mm2_s")


_CRC = "CRC Handbook of Chemistry and Physics"
_SPAN = "Span and Wagner 1996, as coded in a reference library"
BUDGETS: tuple[Budget, ...] = (
    Budget("CO2 in water", "%", 2.6, f"{_CRC}, p. 8-90", _dissolved("CRC")),
    Budget("CO2 in water", "%", 0.8, "Murray and Riley 1971", _dissolved("MR")),
    Budget("CO2 in water", "%", 1.5, "PHREEQC, by phreeqpython 1.6.2", _dissolved("PQ")),
    Budget("CO2 in water", "%", 3.5, "six measured series, 1912 to 1964",
           _dissolved("KUN FS VS SM KSA YP")),
    Budget("CO2 in water, 25 atm", "%", 1.5, "Wiebe and Gaddy 1940", _dissolved("WG")),
    Budget("pressure of CO2 over its liquid", "%", 0.02, _SPAN,
           _saturation("vapour_pressure_bar_abs", co2_properties.saturation_pressure_bar_abs)),
    Budget("density of liquid CO2", "%", 0.04, _SPAN,
           _saturation("liquid_kg_m3", co2_properties.saturated_liquid_kg_m3)),
    Budget("density of CO2 gas", "%", 0.04, _SPAN,
           _saturation("vapour_kg_m3", co2_properties.saturated_vapour_kg_m3)),
    Budget("pressure in a cylinder", "bar", 0.06, _SPAN, _isochores),
    Budget("density of alcohol, 20 °C", "kg/m3", 0.25, f"{_CRC}, 102nd ed.", _ethanol_crc),
    Budget("density of alcohol, 10 to 40 °C", "kg/m3", 0.11, "US Bureau of Standards",
           _ethanol_bureau),
    Budget("strength of alcohol", "% vol", 0.01, "USP 29, alcoholometric table",
           _ethanol_pharmacopoeia),
    Budget("alcohol by mass", "% w/w", 0.1, "Lange's Handbook, table 5.13", _ethanol_lange),
    Budget("density of syrup to 60 °Brix", "kg/m3", 0.25, f"{_CRC}, 102nd ed.", _sucrose_crc),
    Budget("density of syrup", "kg/m3", 0.12, "US Bureau of Standards, C440", _sucrose_bureau),
    Budget("solubility of sucrose", "°Brix", 0.05, "Sokolovsky 1958", _sucrose_solubility),
    Budget("water activity of sucrose", "aw", 0.001, "Robinson and Stokes", _activity_of_sucrose),
    Budget("water activity of salt", "aw", 0.001, "osmotic coefficients, 25 °C",
           _activity_of_salt),
    Budget("growth brought to 5 °C", "log10/day", 0.0035, "FDA/FSIS/CDC 2003, App. 8", _growth),
    Budget("boiling point by altitude", "°C", 0.23, "printed table by altitude", _boiling),
    Budget("density of water", "kg/m3", 0.04, "International Critical Tables", _water_density),
    Budget("viscosity of water", "%", 0.8, "International Critical Tables 1928",
           _water_viscosity),
)  # fmt: skip
