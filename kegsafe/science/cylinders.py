"""A CO2 cylinder: the pressure it stands at, what is left in it, and for how many kegs.

While liquid remains the gauge shows the temperature and nothing of the content. Weigh.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from kegsafe.science import carbonation, co2_properties
from kegsafe.science.atmosphere import ATMOSPHERE_BAR, absolute_from_gauge_bar
from kegsafe.science.bisection import solve_rising
from kegsafe.science.ranges import within

LOWEST_FILLING_RATIO, HIGHEST_FILLING_RATIO = 0.01, 0.85  # kg of CO2 per litre of cylinder
LOWEST_LIQUID_FULL_RATIO = 0.5
USABLE_FRACTION = 0.9  # the last tenth stays behind as gas; project rule
_ROUNDING = 1e-9  # 0.9 of 3 kg at 0.27 kg is ten kegs, whatever binary fractions say


class CylinderPhase(StrEnum):
    """What stands in the cylinder."""

    GAS_ONLY = "gas only"
    TWO_PHASE = "liquid and gas"
    LIQUID_FULL = "full of liquid"
    ABOVE_CRITICAL = "above the critical temperature"


@dataclass(frozen=True, slots=True)
class CylinderState:
    """Pressure and phase; liquid_fraction is by volume, 0 to 1, and 0 above critical."""

    pressure_bar_abs: float
    phase: CylinderPhase
    liquid_fraction: float


@dataclass(frozen=True, slots=True)
class CylinderContent:
    """CO2 left by weight, and the whole kegs it still serves; None where no use was given."""

    co2_kg: float
    kegs_left: int | None


@dataclass(frozen=True, slots=True)
class KegGas:
    """CO2 one keg takes: dissolved in the drink, and filling the keg at the end."""

    dissolved_g: float
    push_g: float

    @property
    def total_g(self) -> float:
        """Both together, g; purging and change-over not counted."""
        return self.dissolved_g + self.push_g


def filling_ratio(co2_kg: float, water_capacity_l: float) -> float:
    """Kilograms of CO2 per litre of cylinder, the ratio filling tables limit.

    Parameters
    ----------
    co2_kg : charge, 0 to 100
    water_capacity_l : stamped on the shoulder (WC), 0.1 to 150

    Raises OutsideRange; also when the ratio is outside 0.01 to 0.85.

    >>> round(filling_ratio(6.8, 10.0), 2)
    0.68
    """
    charge = within("CO2 charge", co2_kg, 0.0, 100.0, "kg")
    capacity = within("water capacity", water_capacity_l, 0.1, 150.0, "L")
    return _checked_ratio(charge / capacity)


def cylinder_state(filling_ratio_kg_per_l: float, temperature_degc: float) -> CylinderState:
    """Pressure and phase in a closed cylinder that has taken one temperature throughout.

    Pressure within 0.3 bar of the reference equation of state; the swelling of the steel,
    which lowers it a little, is left out.

    Parameters
    ----------
    filling_ratio_kg_per_l : kg of CO2 in it now per litre of water capacity, 0.01 to 0.85
    temperature_degc : -20 to 65

    Raises OutsideRange.

    Source: Span & Wagner 1996, as `co2_properties`.

    >>> hot = cylinder_state(0.68, 65.0)
    >>> round(hot.pressure_bar_abs, 1), hot.phase.value
    (193.8, 'above the critical temperature')
    >>> cool = cylinder_state(0.68, 20.0)
    >>> round(cool.pressure_bar_abs, 1), cool.phase.value, round(cool.liquid_fraction, 2)
    (57.3, 'liquid and gas', 0.84)
    """
    density = 1000.0 * _checked_ratio(filling_ratio_kg_per_l)
    at_density = co2_properties.pressure_bar_abs(temperature_degc, density)
    if temperature_degc >= co2_properties.CRITICAL_DEGC:
        return CylinderState(at_density, CylinderPhase.ABOVE_CRITICAL, 0.0)
    saturated = co2_properties.saturation_pressure_bar_abs(temperature_degc)
    liquid = co2_properties.saturated_liquid_kg_m3(temperature_degc)
    vapour = co2_properties.saturated_vapour_kg_m3(temperature_degc)
    if density < vapour:
        return CylinderState(min(at_density, saturated), CylinderPhase.GAS_ONLY, 0.0)
    if density > liquid:
        return CylinderState(max(at_density, saturated), CylinderPhase.LIQUID_FULL, 1.0)
    share = (density - vapour) / (liquid - vapour)
    return CylinderState(saturated, CylinderPhase.TWO_PHASE, share)


def liquid_full_at_degc(filling_ratio_kg_per_l: float) -> float:
    """Temperature at which the swelling liquid fills the cylinder, degC.

    From there the pressure rises by several bar for every degree.

    Parameters
    ----------
    filling_ratio_kg_per_l : 0.5 to 0.85; a cylinder filled less passes the critical
        temperature, 30.98 degC, before it is full of liquid

    Raises OutsideRange. Source: as `co2_properties.saturated_liquid_kg_m3`.

    >>> round(liquid_full_at_degc(0.68), 1)
    26.8
    """
    lowest, highest = LOWEST_LIQUID_FULL_RATIO, HIGHEST_FILLING_RATIO
    ratio = within("filling ratio", filling_ratio_kg_per_l, lowest, highest, "kg/L")
    return solve_rising(
        lambda degc: -co2_properties.saturated_liquid_kg_m3(degc),
        -1000.0 * ratio,
        co2_properties.LOWEST_DEGC,
        co2_properties.CRITICAL_DEGC,
    )


def fraction_left_when_liquid_ends(filling_ratio_kg_per_l: float, temperature_degc: float) -> float:
    """Fraction of the charge still in the cylinder when its last liquid boils away.

    Only from here on does the gauge fall as gas is used.

    Parameters
    ----------
    filling_ratio_kg_per_l : as filled, 0.5 to 0.85
    temperature_degc : of the cylinder, -20 to 30.9782

    Raises OutsideRange. Source: as `co2_properties.saturated_vapour_kg_m3`.

    >>> round(fraction_left_when_liquid_ends(0.68, 20.0), 3)
    0.286
    """
    lowest, highest = LOWEST_LIQUID_FULL_RATIO, HIGHEST_FILLING_RATIO
    ratio = within("filling ratio", filling_ratio_kg_per_l, lowest, highest, "kg/L")
    return co2_properties.saturated_vapour_kg_m3(temperature_degc) / (1000.0 * ratio)


def cylinder_content(
    gross_kg: float, tare_kg: float, grams_per_keg: float | None = None
) -> CylinderContent:
    """CO2 left in a weighed cylinder, and the whole kegs nine tenths of it will serve.

    Parameters
    ----------
    gross_kg : on the scale, cap and hose off, tare to tare + 100
    tare_kg : stamped on the shoulder (TW or tare), 0.2 to 200
    grams_per_keg : CO2 one keg takes, 1 to 5000, or None when not known

    Raises OutsideRange; a cylinder lighter than its tare was misread or is not the one.

    Source: conservation of mass; nine tenths is a project rule.

    >>> cylinder_content(14.2, 9.1, 309.0).kegs_left
    14
    """
    tare = within("tare weight", tare_kg, 0.2, 200.0, "kg")
    content = within("gross weight", gross_kg, tare, tare + 100.0, "kg") - tare
    if grams_per_keg is None:
        return CylinderContent(content, None)
    use_kg = within("CO2 per keg", grams_per_keg, 1.0, 5000.0, "g") / 1000.0
    kegs = math.floor(content * USABLE_FRACTION / use_kg + _ROUNDING)
    return CylinderContent(content, kegs)


def gas_for_keg(
    *,
    keg_volume_l: float,
    drink_l: float,
    temperature_degc: float,
    added_volumes: float,
    push_gauge_bar: float,
    air_bar_abs: float = ATMOSPHERE_BAR,
) -> KegGas:
    """CO2 one keg takes from the cylinder: carbonation and the gas that pushes it out.

    Losses come on top: ten to thirty per cent for purging and change-over is common
    practice, no source.

    Parameters
    ----------
    keg_volume_l : of the vessel, 1 to 100
    drink_l : 0 to keg_volume_l
    temperature_degc : of the keg, 0 to 45
    added_volumes : wanted carbonation less what the drink already holds, 0 to 10
    push_gauge_bar : gauge, at the end of the keg, 0 to 5
    air_bar_abs : absolute pressure of the air, 0.5 to 1.1

    Raises OutsideRange.

    Source: definition of the volume and `carbonation.gas_mol_per_l`.

    >>> keg = gas_for_keg(keg_volume_l=19.0, drink_l=18.0, temperature_degc=2.0,
    ...                   added_volumes=4.0, push_gauge_bar=1.5)
    >>> round(keg.dissolved_g, 1), round(keg.push_g, 1)
    (142.3, 93.4)
    """
    vessel = within("keg volume", keg_volume_l, 1.0, 100.0, "L")
    drink = within("drink in the keg", drink_l, 0.0, vessel, "L")
    volumes = within("carbonation to add", added_volumes, 0.0, 10.0, "volumes")
    highest = carbonation.HIGHEST_GAUGE_BAR
    gauge = within("pushing pressure", push_gauge_bar, 0.0, highest, "bar gauge")
    pushing = absolute_from_gauge_bar(gauge, air_bar_abs)
    gas = carbonation.gas_mol_per_l(temperature_degc, pushing)
    return KegGas(
        dissolved_g=drink * volumes * carbonation.CO2_G_PER_VOLUME,
        push_g=vessel * gas * carbonation.CO2_G_PER_MOL,
    )


def _checked_ratio(ratio: float) -> float:
    lowest, highest = LOWEST_FILLING_RATIO, HIGHEST_FILLING_RATIO
    return within("filling ratio", ratio, lowest, highest, "kg/L")
