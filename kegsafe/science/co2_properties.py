"""Pure carbon dioxide: its saturation line and its pressure at any density.

The saturation line comes from the ancillary equations of Span & Wagner, the pressure of
gas, liquid and dense fluid from their equation of state, both written out in full.
"""

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from functools import cache

from kegsafe.science.ranges import within
from kegsafe.science.tables import Row, rows

CRITICAL_DEGC = 30.9782
CRITICAL_BAR_ABS = 73.773
CRITICAL_KG_M3 = 467.6

LOWEST_DEGC, HIGHEST_DEGC = -20.0, 65.0
HIGHEST_KG_M3 = 850.0

_CRITICAL_K = 304.1282
_GAS_CONSTANT_J_PER_KG_K = 188.9241

# Each pair: coefficient and power of (1 - T/Tc).
_PRESSURE_TERMS = ((-7.0602087, 1.0), (1.9391218, 1.5), (-1.6463597, 2.0), (-3.2995634, 4.0))
_LIQUID_TERMS = (
    (1.9245108, 0.34),
    (-0.62385555, 0.5),
    (-0.32731127, 10.0 / 6.0),
    (0.39245142, 11.0 / 6.0),
)
_VAPOUR_TERMS = (
    (-1.7074879, 0.34),
    (-0.82274670, 0.5),
    (-4.6008549, 1.0),
    (-10.111178, 7.0 / 3.0),
    (-29.742252, 14.0 / 3.0),
)


def saturation_pressure_bar_abs(temperature_degc: float) -> float:
    """Pressure in a cylinder while liquid and gas are both present, bar absolute.

    Within 0.01 % of the reference equation of state over the stated range.

    Parameters
    ----------
    temperature_degc : -20 to 30.9782, the critical point; above it there is no liquid

    Raises OutsideRange.

    Source: Span & Wagner 1996, J. Phys. Chem. Ref. Data 25:1509, eq. 3.13. [memory; held
    against CoolProp over the whole range in the tests]

    >>> round(saturation_pressure_bar_abs(20.0), 2)
    57.29
    """
    distance = _distance_below_critical(temperature_degc)
    return CRITICAL_BAR_ABS * math.exp(_sum(_PRESSURE_TERMS, distance) / (1.0 - distance))


def saturated_liquid_kg_m3(temperature_degc: float) -> float:
    """Density of liquid CO2 in equilibrium with its gas, kg/m3.

    Within 0.02 % of the reference equation up to 30 degC, 0.7 % in the last degree.

    Parameters
    ----------
    temperature_degc : -20 to 30.9782

    Raises OutsideRange. Source: Span & Wagner 1996, eq. 3.14. [memory; checked as above]

    >>> round(saturated_liquid_kg_m3(20.0), 1)
    773.4
    """
    distance = _distance_below_critical(temperature_degc)
    return CRITICAL_KG_M3 * math.exp(_sum(_LIQUID_TERMS, distance))


def saturated_vapour_kg_m3(temperature_degc: float) -> float:
    """Density of CO2 gas in equilibrium with its liquid, kg/m3.

    Within 0.03 % of the reference equation up to 30 degC, 0.3 % in the last degree.

    Parameters
    ----------
    temperature_degc : -20 to 30.9782

    Raises OutsideRange. Source: Span & Wagner 1996, eq. 3.15. [memory; checked as above]

    >>> round(saturated_vapour_kg_m3(20.0), 1)
    194.2
    """
    distance = _distance_below_critical(temperature_degc)
    return CRITICAL_KG_M3 * math.exp(_sum(_VAPOUR_TERMS, distance))


def pressure_bar_abs(temperature_degc: float, density_kg_m3: float) -> float:
    """Pressure of CO2 that is all gas, all liquid or all dense fluid, bar absolute.

    Between the two saturated densities the result means nothing; ask the saturation line.
    The equation itself is good to 0.05 % in density here, and to a few tenths of a per cent
    in the pressure of the liquid.

    Parameters
    ----------
    temperature_degc : -20 to 65
    density_kg_m3 : 0 to 850

    Raises OutsideRange.

    Source: Span & Wagner 1996, residual Helmholtz energy, coefficients in
    shared/science/co2_equation_of_state.csv. [second-hand: as coded in CoolProp 8.0.0]

    >>> round(pressure_bar_abs(65.0, 680.0), 1)
    193.8
    """
    t = within("CO2 temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
    density = within("CO2 density", density_kg_m3, 0.0, HIGHEST_KG_M3, "kg/m3")
    temperature_k = t + 273.15
    ideal_pa = density * _GAS_CONSTANT_J_PER_KG_K * temperature_k
    delta, tau = density / CRITICAL_KG_M3, _CRITICAL_K / temperature_k
    return ideal_pa * (1.0 + sum(term.slope(delta, tau) for term in _terms())) / 1e5


def _distance_below_critical(temperature_degc: float) -> float:
    t = within("CO2 temperature", temperature_degc, LOWEST_DEGC, CRITICAL_DEGC, "degC")
    return 1.0 - (t + 273.15) / _CRITICAL_K


def _sum(terms: tuple[tuple[float, float], ...], distance: float) -> float:
    return sum(factor * math.pow(distance, power) for factor, power in terms)


class _Term(ABC):
    """One term of the residual Helmholtz energy."""

    @abstractmethod
    def slope(self, delta: float, tau: float) -> float:
        """Return delta times the term's derivative by delta, both reduced and unitless."""


@dataclass(frozen=True, slots=True)
class _Power(_Term):
    """n delta^d tau^t, damped by exp(-delta^l) where l is above zero."""

    n: float
    d: float
    t: float
    damping: float

    def slope(self, delta: float, tau: float) -> float:
        plain = self.n * math.pow(delta, self.d) * math.pow(tau, self.t)
        if not self.damping:
            return plain * self.d
        crowding = math.pow(delta, self.damping)
        return plain * math.exp(-crowding) * (self.d - self.damping * crowding)


@dataclass(frozen=True, slots=True)
class _Gaussian(_Term):
    """n delta^d tau^t under a bell around (epsilon, gamma)."""

    n: float
    d: float
    t: float
    eta: float
    epsilon: float
    beta: float
    gamma: float

    def slope(self, delta: float, tau: float) -> float:
        aside = delta - self.epsilon
        bell = math.exp(-self.eta * aside**2 - self.beta * (tau - self.gamma) ** 2)
        value = self.n * math.pow(delta, self.d) * math.pow(tau, self.t) * bell
        return value * (self.d - 2.0 * self.eta * delta * aside)


@dataclass(frozen=True, slots=True)
class _NonAnalytic(_Term):
    """n Delta^b delta psi, which bends the surface near the critical point.

    Letters as in the paper, its capitals doubled: aa, bb, cc, dd.
    """

    n: float
    a: float
    b: float
    beta: float
    aa: float
    bb: float
    cc: float
    dd: float

    def slope(self, delta: float, tau: float) -> float:
        aside = delta - 1.0
        square = aside**2
        bend = 1.0 / (2.0 * self.beta)
        theta = 1.0 - tau + self.aa * math.pow(square, bend)
        shape = theta**2 + self.bb * math.pow(square, self.a)
        if shape == 0.0:  # the critical point itself, where the term vanishes
            return 0.0
        psi = math.exp(-self.cc * square - self.dd * (tau - 1.0) ** 2)
        rise = aside * (
            self.aa * theta * 2.0 / self.beta * math.pow(square, bend - 1.0)
            + 2.0 * self.bb * self.a * math.pow(square, self.a - 1.0)
        )
        steady = math.pow(shape, self.b) * (1.0 - 2.0 * self.cc * aside * delta)
        moving = delta * self.b * math.pow(shape, self.b - 1.0) * rise
        return self.n * delta * psi * (steady + moving)


@cache
def _terms() -> tuple[_Term, ...]:
    return tuple(_term(row) for row in rows("science/co2_equation_of_state"))


def _term(row: Row) -> _Term:
    def numbers(*names: str) -> list[float]:
        return [float(row[name]) for name in names]

    match row["kind"]:
        case "power":
            return _Power(*numbers("n", "d", "t", "l"))
        case "gaussian":
            return _Gaussian(*numbers("n", "d", "t", "eta", "epsilon", "beta", "gamma"))
        case "nonanalytic":
            return _NonAnalytic(*numbers("n", "a", "b", "beta", "A", "B", "C", "D"))
        case kind:
            raise ValueError(f"co2_equation_of_state.csv holds a term of unknown kind {kind!r}.")
