"""CO2 let loose in a room: how much it makes, how it clears, how big a room must be.

Screening figures. They assume the gas mixes, and CO2 does not: near the floor and in pits
it can be several times stronger. Nobody enters a room on the strength of a calculation.
"""

import math
from dataclasses import dataclass

from kegsafe.science.atmosphere import ATMOSPHERE_BAR, HIGHEST_BAR_ABS, LOWEST_BAR_ABS
from kegsafe.science.carbonation import CO2_G_PER_MOL
from kegsafe.science.ranges import within

OUTDOOR_PPM = 400.0
OXYGEN_IN_AIR_PERCENT = 20.9
PPM = 1e6  # parts per million in the whole

_GAS_CONSTANT = 0.0831446  # bar L/(mol K)


@dataclass(frozen=True, slots=True)
class Release:
    """A room after all the gas has escaped.

    Attributes
    ----------
    gas_m3 : volume of the gas at the room's temperature
    screening_ppm : as if no air left the room; the figure to judge by
    mixed_ppm : as if mixed air were pushed out while the gas came in
    oxygen_percent : what is left of the oxygen, by volume, after that
    """

    gas_m3: float
    screening_ppm: float
    mixed_ppm: float
    oxygen_percent: float


def gas_volume_m3(
    co2_kg: float, temperature_degc: float = 20.0, air_bar_abs: float = ATMOSPHERE_BAR
) -> float:
    """Volume of CO2 gas at the pressure of the air, m3.

    Ideal gas: 0.4 % too much at 50 degC, 0.9 % too much at -20, so always on the careful side.

    Parameters
    ----------
    co2_kg : 0 to 5000
    temperature_degc : of the room, -20 to 50
    air_bar_abs : absolute pressure of the air, 0.5 to 1.1

    Raises OutsideRange. Source: ideal-gas law.

    >>> round(gas_volume_m3(1.0), 4)
    0.5466
    """
    mass = within("mass of CO2", co2_kg, 0.0, 5000.0, "kg")
    t = within("room temperature", temperature_degc, -20.0, 50.0, "degC")
    air = within("air pressure", air_bar_abs, LOWEST_BAR_ABS, HIGHEST_BAR_ABS, "bar absolute")
    return mass * _GAS_CONSTANT * (t + 273.15) / (CO2_G_PER_MOL * air)


def full_release(
    co2_kg: float,
    room_m3: float,
    temperature_degc: float = 20.0,
    air_bar_abs: float = ATMOSPHERE_BAR,
) -> Release:
    """CO2 in a closed room if everything in the cylinder escapes at once.

    Parameters
    ----------
    co2_kg : in the largest cylinder, or in all that can empty together, 0 to 5000
    room_m3 : free air space, 1 to 100 000
    temperature_degc : of the room, -20 to 50
    air_bar_abs : absolute pressure of the air, 0.5 to 1.1

    Raises OutsideRange.

    Source: conservation of volume, and complete mixing. [computed; no standard read]

    >>> round(full_release(10.0, 40.0).screening_ppm, -3)
    137000.0
    """
    room = _checked_room(room_m3)
    gas = gas_volume_m3(co2_kg, temperature_degc, air_bar_abs)
    air_left = math.exp(-gas / room)
    return Release(
        gas_m3=gas,
        screening_ppm=PPM * min(gas / room, 1.0),
        mixed_ppm=PPM * (1.0 - air_left),
        oxygen_percent=OXYGEN_IN_AIR_PERCENT * air_left,
    )


def least_room_m3(
    co2_kg: float,
    limit_ppm: float,
    temperature_degc: float = 20.0,
    background_ppm: float = OUTDOOR_PPM,
    air_bar_abs: float = ATMOSPHERE_BAR,
) -> float:
    """Room in which a full release would just reach a limit, m3.

    Parameters
    ----------
    co2_kg : 0 to 5000
    limit_ppm : above background_ppm, up to 1 000 000
    temperature_degc : of the room, -20 to 50
    background_ppm : in the room before, 0 to 5000
    air_bar_abs : absolute pressure of the air, 0.5 to 1.1

    Raises OutsideRange. Source: as `full_release`, screening figure.

    >>> round(least_room_m3(9.07, 15_000.0, background_ppm=0.0))
    331
    """
    room_for_gas = _checked_limit(limit_ppm, background_ppm) - background_ppm
    return gas_volume_m3(co2_kg, temperature_degc, air_bar_abs) * PPM / room_for_gas


def decayed_ppm(
    start_ppm: float, air_changes_per_h: float, hours: float, background_ppm: float = OUTDOOR_PPM
) -> float:
    """CO2 left after ventilating for a while, ppm, the release having ended.

    The least it can be: gas lying in layers clears more slowly.

    Parameters
    ----------
    start_ppm : background_ppm to 1 000 000
    air_changes_per_h : fresh air per hour in room volumes, 0 to 100
    hours : 0 to 1000
    background_ppm : of the fresh air, 0 to 5000

    Raises OutsideRange. Source: mass balance of a mixed room. [computed]

    >>> round(decayed_ppm(50_000.0, 6.0, 0.5))
    2869
    """
    fresh = _checked_background(background_ppm)
    start = within("CO2 at the start", start_ppm, fresh, PPM, "ppm")
    changes = within("air changes per hour", air_changes_per_h, 0.0, 100.0)
    time = within("time", hours, 0.0, 1000.0, "h")
    return fresh + (start - fresh) * math.exp(-changes * time)


def hours_to_decay(
    start_ppm: float,
    limit_ppm: float,
    air_changes_per_h: float,
    background_ppm: float = OUTDOOR_PPM,
) -> float:
    """Hours of ventilation until CO2 falls to a limit; 0 when it is there already.

    The least it can be. Re-entry is decided by a measured reading, never by this clock.

    Parameters
    ----------
    start_ppm : background_ppm to 1 000 000
    limit_ppm : above background_ppm, up to 1 000 000
    air_changes_per_h : 0.01 to 100
    background_ppm : of the fresh air, 0 to 5000

    Raises OutsideRange. Source: as `decayed_ppm`, turned round.

    >>> round(60 * hours_to_decay(50_000.0, 5_000.0, 6.0), 1)
    23.8
    """
    limit = _checked_limit(limit_ppm, background_ppm)
    start = within("CO2 at the start", start_ppm, background_ppm, PPM, "ppm")
    changes = within("air changes per hour", air_changes_per_h, 0.01, 100.0)
    if start <= limit:
        return 0.0
    return math.log((start - background_ppm) / (limit - background_ppm)) / changes


def leak_ppm(
    co2_g_per_h: float,
    room_m3: float,
    air_changes_per_h: float,
    hours: float,
    temperature_degc: float = 20.0,
    background_ppm: float = OUTDOOR_PPM,
) -> float:
    """CO2 in a room after a steady leak has run for a while, ppm.

    Parameters
    ----------
    co2_g_per_h : 0 to 100 000
    room_m3 : 1 to 100 000
    air_changes_per_h : 0 to 100
    hours : since the leak began, 0 to 1000
    temperature_degc : of the room, -20 to 50
    background_ppm : in the room before and in the fresh air, 0 to 5000

    Raises OutsideRange. Source: mass balance of a mixed room. [computed]

    >>> round(leak_ppm(500.0, 40.0, 0.5, 4.0))
    12101
    """
    room = _checked_room(room_m3)
    time = within("time", hours, 0.0, 1000.0, "h")
    steady, out_m3_per_h = _steady_leak(
        co2_g_per_h, room, air_changes_per_h, temperature_degc, background_ppm
    )
    return steady + (background_ppm - steady) * math.exp(-out_m3_per_h * time / room)


def steady_leak_ppm(
    co2_g_per_h: float,
    room_m3: float,
    air_changes_per_h: float,
    temperature_degc: float = 20.0,
    background_ppm: float = OUTDOOR_PPM,
) -> float:
    """CO2 a steady leak ends at if it is never found, ppm; everything if nothing ventilates.

    Parameters, errors and source as `leak_ppm`.

    >>> round(steady_leak_ppm(500.0, 40.0, 0.5))
    13875
    """
    room = _checked_room(room_m3)
    return _steady_leak(co2_g_per_h, room, air_changes_per_h, temperature_degc, background_ppm)[0]


def ventilation_for_leak_m3_per_h(
    co2_g_per_h: float,
    limit_ppm: float,
    temperature_degc: float = 20.0,
    background_ppm: float = OUTDOOR_PPM,
) -> float:
    """Fresh air that keeps a steady leak below a limit, m3/h, rounded to the careful side.

    Parameters
    ----------
    co2_g_per_h : 0 to 100 000
    limit_ppm : above background_ppm, up to 1 000 000
    temperature_degc : of the room, -20 to 50
    background_ppm : of the fresh air, 0 to 5000

    Raises OutsideRange. Source: as `leak_ppm`; the air the leak itself moves is left out.

    >>> round(ventilation_for_leak_m3_per_h(100.0, 5_000.0), 1)
    11.9
    """
    room_for_gas = _checked_limit(limit_ppm, background_ppm) - background_ppm
    return _leak_m3_per_h(co2_g_per_h, temperature_degc) * PPM / room_for_gas


def _steady_leak(
    co2_g_per_h: float,
    room_m3: float,
    air_changes_per_h: float,
    temperature_degc: float,
    background_ppm: float,
) -> tuple[float, float]:
    """Final ppm, and the m3/h that leave the room."""
    fresh = _checked_background(background_ppm)
    changes = within("air changes per hour", air_changes_per_h, 0.0, 100.0)
    leak = _leak_m3_per_h(co2_g_per_h, temperature_degc)
    supply = changes * room_m3
    if supply + leak == 0.0:
        return fresh, 0.0
    return (supply * fresh + leak * PPM) / (supply + leak), supply + leak


def _leak_m3_per_h(co2_g_per_h: float, temperature_degc: float) -> float:
    leak = within("leak", co2_g_per_h, 0.0, 100_000.0, "g/h")
    return gas_volume_m3(leak / 1000.0, temperature_degc)


def _checked_room(room_m3: float) -> float:
    return within("room volume", room_m3, 1.0, 100_000.0, "m3")


def _checked_background(background_ppm: float) -> float:
    return within("background CO2", background_ppm, 0.0, 5000.0, "ppm")


def _checked_limit(limit_ppm: float, background_ppm: float) -> float:
    """A limit the fresh air itself meets or passes can never be reached."""
    lowest = _checked_background(background_ppm) + 1.0
    return within("CO2 limit", limit_ppm, lowest, PPM, "ppm")
