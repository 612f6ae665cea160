"""How much a line holds and how fast a cleaning solution moves in it.

Flow is judged as water. Re above 4000 is the physical floor for a scouring flow; the
1.5 m/s of food plants was proved in pipe of 25 to 100 mm, not in beverage hose, and is
shown as a rule of thumb only. [second-hand]
"""

import math
from enum import StrEnum

from kegsafe.science.ranges import within
from kegsafe.science.sugar import water_density_kg_m3

LAMINAR_BELOW_RE = 2300.0
TURBULENT_ABOVE_RE = 4000.0
PLANT_RULE_OF_THUMB_M_S = 1.5


class Regime(StrEnum):
    """How the liquid moves in the line."""

    LAMINAR = "laminar"
    UNSURE = "unsure"
    TURBULENT = "turbulent"


def line_volume_ml(length_m: float, bore_mm: float, fittings_ml: float = 0.0) -> float:
    """Millilitres a line holds, with its tap, coupler and what else is in the circuit.

    Parameters
    ----------
    length_m : 0 to 150
    bore_mm : inside diameter, 3 to 20
    fittings_ml : tap, coupler, shank and foam detector, measured with a jug, 0 to 5000;
        20 to 50 for tap, shank and coupler is common practice, no source

    Raises OutsideRange. Source: geometry.

    >>> round(line_volume_ml(7.62, 6.35, fittings_ml=30.0))
    271
    """
    length = within("length of line", length_m, 0.0, 150.0, "m")
    fittings = within("volume of fittings", fittings_ml, 0.0, 5000.0, "ml")
    return _area_mm2(bore_mm) * length + fittings


def velocity_m_s(flow_l_min: float, bore_mm: float) -> float:
    """Mean speed of the liquid in the line, m/s.

    Parameters
    ----------
    flow_l_min : 0 to 100
    bore_mm : inside diameter, 3 to 20

    Raises OutsideRange. Source: continuity.

    >>> round(velocity_m_s(3.785, 6.35), 2)
    1.99
    """
    flow = within("flow", flow_l_min, 0.0, 100.0, "l/min")
    return flow / 60.0 * 1000.0 / _area_mm2(bore_mm)


def water_kinematic_viscosity_m2_s(temperature_degc: float) -> float:
    """Kinematic viscosity of water, m2/s, good to 0.3 %.

    Parameters
    ----------
    temperature_degc : 0 to 80

    Raises OutsideRange.

    Source: Hardy and Cottingham, J. Res. NBS 42:573 (1949) below 20 degC; Swindells, NBS,
    above. [form of the second and both citations read in a stored handbook page, the first
    from memory; checked against two published tables and IAPWS in the tests]

    >>> round(water_kinematic_viscosity_m2_s(20.0) * 1e6, 2)
    1.0
    """
    t = within("temperature", temperature_degc, 0.0, 80.0, "degC")
    warmer = t - 20.0
    if t <= 20.0:
        power = 1301.0 / (998.333 + 8.1855 * warmer + 0.00585 * warmer**2) - 3.30233
        viscosity_mpa_s = 100.0 * math.pow(10.0, power)
    else:
        power = (-1.3272 * warmer - 0.001053 * warmer**2) / (t + 105.0)
        viscosity_mpa_s = 1.002 * math.pow(10.0, power)
    return viscosity_mpa_s / 1000.0 / water_density_kg_m3(t)


def reynolds_number(flow_l_min: float, bore_mm: float, temperature_degc: float) -> float:
    """Reynolds number of water in the line, a plain ratio.

    Parameters
    ----------
    flow_l_min : 0 to 100
    bore_mm : inside diameter, 3 to 20
    temperature_degc : 0 to 80

    Raises OutsideRange. Source: Re = v d / nu.

    >>> round(reynolds_number(3.785, 6.35, 20.0), -2)
    12600.0
    """
    speed = velocity_m_s(flow_l_min, bore_mm)
    return speed * bore_mm / 1000.0 / water_kinematic_viscosity_m2_s(temperature_degc)


def regime(reynolds: float) -> Regime:
    """Say how a flow of this Reynolds number moves.

    Parameters
    ----------
    reynolds : 0 to 10,000,000

    Raises OutsideRange.

    Source: a plant-cleaning text, laminar below 2300, unsure to 4000. [second-hand]

    >>> regime(3000.0).value
    'unsure'
    """
    number = within("Reynolds number", reynolds, 0.0, 1e7)
    if number < LAMINAR_BELOW_RE:
        return Regime.LAMINAR
    return Regime.TURBULENT if number > TURBULENT_ABOVE_RE else Regime.UNSURE


def flow_for_velocity_l_min(speed_m_s: float, bore_mm: float) -> float:
    """Flow that moves at a given speed, l/min.

    Parameters
    ----------
    speed_m_s : 0 to 20
    bore_mm : inside diameter, 3 to 20

    Raises OutsideRange. Source: continuity.

    >>> round(flow_for_velocity_l_min(1.5, 6.35), 2)
    2.85
    """
    return within("speed", speed_m_s, 0.0, 20.0, "m/s") * _area_mm2(bore_mm) * 60.0 / 1000.0


def flow_for_reynolds_l_min(reynolds: float, bore_mm: float, temperature_degc: float) -> float:
    """Flow of water that reaches a Reynolds number, l/min.

    Parameters
    ----------
    reynolds : 0 to 100,000
    bore_mm : inside diameter, 3 to 20
    temperature_degc : 0 to 80

    Raises OutsideRange. Source: as `reynolds_number`.

    >>> round(flow_for_reynolds_l_min(4000.0, 6.35, 20.0), 1)
    1.2
    """
    number = within("Reynolds number", reynolds, 0.0, 1e5)
    area_mm2 = _area_mm2(bore_mm)
    speed = number * water_kinematic_viscosity_m2_s(temperature_degc) * 1000.0 / bore_mm
    return speed * area_mm2 * 60.0 / 1000.0


def turnover_s(volume_ml: float, flow_l_min: float) -> float:
    """Seconds for the pump to replace the contents of the circuit once.

    Parameters
    ----------
    volume_ml : of the whole circuit, 0 to 100,000
    flow_l_min : 0.01 to 100

    Raises OutsideRange. Source: volume over flow.

    >>> round(turnover_s(241.3, 3.785), 1)
    3.8
    """
    volume = within("volume of the circuit", volume_ml, 0.0, 1e5, "ml")
    return volume / 1000.0 / within("flow", flow_l_min, 0.01, 100.0, "l/min") * 60.0


def _area_mm2(bore_mm: float) -> float:
    """Cross-section of the bore; 1 mm2 times 1 m is 1 ml."""
    return math.pi / 4.0 * within("bore of line", bore_mm, 3.0, 20.0, "mm") ** 2
