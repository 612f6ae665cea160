"""A carbonated keg that is shut off and warms up.

Nothing leaves it: what comes out of the drink goes into the head space, and the pressure
rises several times faster than that of gas alone. Only the carbonation relation of
`carbonation` is used, with the swelling of water.

Water is taken for the drink, and no air in the head space; both put the pressure on the
high side. Two things put the fill on the low side of the truth: sugar and spirit swell up
to half as much again as water, and dissolved gas swells the drink by one or two per cent
over what was poured in. A gap of a twentieth of the keg covers both.
"""

from collections.abc import Callable
from dataclasses import dataclass

from kegsafe.science import carbonation
from kegsafe.science.atmosphere import (
    absolute_from_gauge_bar,
    gauge_from_absolute_bar,
    standard_pressure_bar_abs,
)
from kegsafe.science.bisection import solve_rising
from kegsafe.science.ranges import within
from kegsafe.science.sugar import water_density_kg_m3
from kegsafe.science.water_vapour import saturation_pressure_bar_abs

LOWEST_DEGC, HIGHEST_DEGC = carbonation.LOWEST_DEGC, carbonation.HIGHEST_DEGC
CAUTION = 1.10  # factor on the gauge pressure before it is held against a rating; project rule
LEAST_GAP = 0.05  # head space as a fraction of the keg; project rule


class LiquidFull(ValueError):
    """The drink would swell until no gas is left; from there the pressure has no limit.

    Attributes
    ----------
    full_at_degc : temperature at which the head space is gone
    fill_limit_l : the most the keg may hold at the temperature it was filled at
    """

    def __init__(self, full_at_degc: float, fill_limit_l: float) -> None:
        self.full_at_degc = full_at_degc
        self.fill_limit_l = fill_limit_l
        super().__init__(full_at_degc, fill_limit_l)

    def __str__(self) -> str:
        """Say when it happens and how much the keg may hold."""
        return (
            f"The keg becomes full of liquid at {self.full_at_degc:.1f} degC and can burst; "
            f"it may hold at most {self.fill_limit_l:.2f} L. Do not warm it."
        )


@dataclass(frozen=True, slots=True)
class Crossing:
    """The temperature at which a warming keg comes to a mark.

    Where `is_reached` is false the keg stays below the mark up to `temperature_degc`, the
    end of the range, and nothing is known beyond.
    """

    temperature_degc: float
    is_reached: bool


@dataclass(frozen=True, slots=True)
class SealedKeg:
    """A keg at rest with its gas shut off: what it holds no longer changes.

    Attributes
    ----------
    keg_volume_l : of the vessel, 1 to 100
    liquid_volume_l : drink in it at temperature_degc, above 0, below the vessel
    temperature_degc : at which it settled, 0 to 45
    gauge_bar : at which it settled, 0 to 5
    altitude_m : of the bar, -500 to 4500

    Raises OutsideRange when made with anything else.
    """

    keg_volume_l: float
    liquid_volume_l: float
    temperature_degc: float
    gauge_bar: float
    altitude_m: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a keg that cannot be."""
        vessel = within("keg volume", self.keg_volume_l, 1.0, 100.0, "L")
        within("liquid in the keg", self.liquid_volume_l, 0.001, vessel, "L")
        within("temperature", self.temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
        within("gauge pressure", self.gauge_bar, 0.0, carbonation.HIGHEST_GAUGE_BAR, "bar gauge")
        standard_pressure_bar_abs(self.altitude_m)

    @property
    def air_bar_abs(self) -> float:
        """Absolute pressure of the air around the gauge, bar."""
        return standard_pressure_bar_abs(self.altitude_m)

    @property
    def co2_mol(self) -> float:
        """All CO2 in the keg, dissolved and in the head space, mol."""
        pressure = absolute_from_gauge_bar(self.gauge_bar, self.air_bar_abs)
        co2 = carbonation.co2_partial_pressure_bar_abs(self.temperature_degc, pressure)
        return self._co2_mol(self.temperature_degc, co2)

    def gauge_bar_at(self, temperature_degc: float) -> float:
        """Gauge pressure once the sealed keg has taken another temperature throughout, bar.

        Good to 4 % for water, 10 % for other drinks.

        Parameters
        ----------
        temperature_degc : 0 to 45

        Raises OutsideRange, and LiquidFull when no head space is left.

        Source: as `warm_up`.
        """
        t = within("new temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
        if self._liquid_l(t) >= self.keg_volume_l:
            full_at = self.liquid_full_at().temperature_degc
            raise LiquidFull(full_at, self.fill_limit_l(t))
        highest = carbonation.HIGHEST_CO2_BAR_ABS
        most_mol = self._co2_mol(t, highest)
        total = within("CO2 in the keg", self.co2_mol, 0.0, most_mol, "mol")
        co2 = solve_rising(lambda bar_abs: self._co2_mol(t, bar_abs), total, 0.0, highest)
        return gauge_from_absolute_bar(co2 + saturation_pressure_bar_abs(t), self.air_bar_abs)

    def fill_limit_l(self, temperature_degc: float) -> float:
        """Most drink the keg may hold, at its first temperature, to stay short of full, L.

        Parameters
        ----------
        temperature_degc : the warmest it will be, 0 to 45

        Raises OutsideRange. Source: density of water, as `sugar.water_density_kg_m3`.
        """
        t = within("new temperature", temperature_degc, LOWEST_DEGC, HIGHEST_DEGC, "degC")
        swelling = water_density_kg_m3(self.temperature_degc) / water_density_kg_m3(t)
        return self.keg_volume_l / max(1.0, swelling)

    def liquid_full_at(self) -> Crossing:
        """Temperature at which the head space is gone, from the first temperature upwards."""
        return self._crossing(lambda t: self._liquid_l(t) - self.keg_volume_l, HIGHEST_DEGC)

    def reaches(self, mark_gauge_bar: float, factor: float = 1.0) -> Crossing:
        """Temperature at which the gauge pressure times a factor comes to a mark.

        A keg that becomes full of liquid first is taken to reach every mark there.

        Parameters
        ----------
        mark_gauge_bar : gauge, above 0 to 30
        factor : 1 for the best guess, `CAUTION` to hold against a rating, 1 to 2

        Raises OutsideRange. Source: as `warm_up`, turned round.
        """
        mark = within("pressure to compare with", mark_gauge_bar, 0.1, 30.0, "bar gauge")
        margin = within("factor of caution", factor, 1.0, 2.0)
        full = self.liquid_full_at()
        if not full.is_reached:
            return self._crossing(lambda t: margin * self.gauge_bar_at(t) - mark, HIGHEST_DEGC)
        last = full.temperature_degc - 0.01
        if last <= self.temperature_degc:
            return full
        before = self._crossing(lambda t: margin * self.gauge_bar_at(t) - mark, last)
        return before if before.is_reached else full

    def _crossing(self, excess: Callable[[float], float], highest_degc: float) -> Crossing:
        """Where a rising excess leaves the negative, no lower than the first temperature."""
        if excess(highest_degc) < 0.0:
            return Crossing(highest_degc, is_reached=False)
        reached = solve_rising(excess, 0.0, self.temperature_degc, highest_degc)
        return Crossing(reached, is_reached=True)

    def _liquid_l(self, temperature_degc: float) -> float:
        at_first = water_density_kg_m3(self.temperature_degc)
        return self.liquid_volume_l * at_first / water_density_kg_m3(temperature_degc)

    def _co2_mol(self, temperature_degc: float, co2_bar_abs: float) -> float:
        liquid = self._liquid_l(temperature_degc)
        head_space = self.keg_volume_l - liquid
        return carbonation.dissolved_mol_per_l(
            temperature_degc, co2_bar_abs
        ) * liquid + carbonation.gas_mol_per_l(temperature_degc, co2_bar_abs) * max(head_space, 0.0)


@dataclass(frozen=True, slots=True)
class WarmUp:
    """A sealed keg at its new temperature; marks that were not given are None.

    Attributes
    ----------
    gauge_bar : best guess
    cautious_gauge_bar : the best guess times `CAUTION`, to hold against rating and relief
    co2_g : all CO2 in the keg
    fill_limit_l : drink above which the keg is full of liquid at the new temperature
    least_gap_l : head space the keg should keep
    liquid_full_at : when the head space is gone
    passes_relief, passes_rating : whether the cautious pressure is above the mark
    relief_lifts_at, rating_reached_at : for the best guess
    rating_reached_at_cautious : for the cautious pressure
    """

    gauge_bar: float
    cautious_gauge_bar: float
    co2_g: float
    fill_limit_l: float
    least_gap_l: float
    liquid_full_at: Crossing
    passes_relief: bool | None
    relief_lifts_at: Crossing | None
    passes_rating: bool | None
    rating_reached_at: Crossing | None
    rating_reached_at_cautious: Crossing | None


def warm_up(
    keg: SealedKeg,
    new_temperature_degc: float,
    *,
    rated_gauge_bar: float | None = None,
    relief_gauge_bar: float | None = None,
) -> WarmUp:
    """Pressure of a sealed carbonated keg at another temperature, against its marks.

    Good to 4 % for water; show 10 % for drinks, and judge by the cautious figure.

    Parameters
    ----------
    keg : settled and shut off
    new_temperature_degc : throughout the keg, 0 to 45
    rated_gauge_bar : read off the keg, gauge, 0.1 to 30; None when not recorded, which is
        never "unlimited"
    relief_gauge_bar : set pressure of its relief valve, gauge, 0.1 to 30; None when not recorded

    Raises OutsideRange, and LiquidFull when no head space is left.

    Source: the amount of CO2 stays; `carbonation` for both phases, with the vapour pressure
    and the density of water. [computed; not checked against a measured keg]

    >>> keg = SealedKeg(19.0, 18.0, 2.0, 3.4)
    >>> warm = warm_up(keg, 25.0, relief_gauge_bar=7.0)
    >>> round(warm.gauge_bar, 2), warm.passes_relief
    (8.22, True)
    >>> round(warm.relief_lifts_at.temperature_degc, 1)
    19.9
    """
    gauge = keg.gauge_bar_at(new_temperature_degc)
    cautious = CAUTION * gauge
    rated, relief = rated_gauge_bar, relief_gauge_bar
    return WarmUp(
        gauge_bar=gauge,
        cautious_gauge_bar=cautious,
        co2_g=keg.co2_mol * carbonation.CO2_G_PER_MOL,
        fill_limit_l=keg.fill_limit_l(new_temperature_degc),
        least_gap_l=LEAST_GAP * keg.keg_volume_l,
        liquid_full_at=keg.liquid_full_at(),
        passes_relief=None if relief is None else cautious > relief,
        relief_lifts_at=None if relief is None else keg.reaches(relief),
        passes_rating=None if rated is None else cautious > rated,
        rating_reached_at=None if rated is None else keg.reaches(rated),
        rating_reached_at_cautious=None if rated is None else keg.reaches(rated, CAUTION),
    )
