"""The pressure-decay leak test: gas shut in, read, left, read again.

Only for a keg or line that holds gas alone. With drink inside, gas that dissolves looks
like a leak and gas that comes out hides one.
"""

import math
from dataclasses import dataclass

from kegsafe.science.carbonation import CO2_G_PER_MOL
from kegsafe.science.ranges import within

DIAL_GAUGE_BAR = 0.16  # a dial of 0 to 10 bar, class 1.6: 1.6 % of the full scale
THERMOMETER_DEGC = 1.0
HIGHEST_BAR_ABS = 12.0

_GAS_CONSTANT = 0.0831446  # bar L/(mol K)
_SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class LeakTest:
    """What a pressure-decay test shows.

    Attributes
    ----------
    corrected_drop_bar : loss at the temperature of the second reading; below zero is a rise
    leak_g_per_h : CO2 lost
    leak_mbar_l_per_s : the same loss as leak testers state it, at the second temperature
    smallest_visible_g_per_h : a leak below this hides in the errors of gauge and thermometer
    """

    corrected_drop_bar: float
    leak_g_per_h: float
    leak_mbar_l_per_s: float
    smallest_visible_g_per_h: float

    @property
    def is_visible(self) -> bool:
        """Whether the loss stands out of the errors. False is no proof of tightness."""
        return self.leak_g_per_h > self.smallest_visible_g_per_h


def leak_test(
    *,
    volume_l: float,
    start_bar_abs: float,
    start_degc: float,
    end_bar_abs: float,
    end_degc: float,
    hours: float,
    pressure_error_bar: float = DIAL_GAUGE_BAR,
    temperature_error_degc: float = THERMOMETER_DEGC,
) -> LeakTest:
    """Leak rate from two readings of shut-in CO2, corrected for temperature.

    One degree alone moves 4.4 bar absolute by 15 mbar. Ideal gas: for CO2 at 20 degC the
    rate is 5 % low at 5 bar absolute and 13 % low at 12, and cooling by 10 degC at 4.4 bar
    absolute feigns a drop of 8 mbar. Read both ends at the same temperature.

    Parameters
    ----------
    volume_l : gas shut in, 0.01 to 1000
    start_bar_abs, end_bar_abs : absolute, gauge reading plus the air of that moment, 0.5 to 12
    start_degc, end_degc : of the gas, -10 to 50
    hours : between the readings, 0.05 to 500
    pressure_error_bar : of one reading, 0.0001 to 1; a dial gauge if not given
    temperature_error_degc : of one reading, 0.01 to 5

    Raises OutsideRange.

    Source: ideal-gas law; the smallest leak is the error of a difference of two readings
    of equal uncertainty. [computed]

    >>> test = leak_test(volume_l=5.0, start_bar_abs=4.4, start_degc=20.0,
    ...                  end_bar_abs=4.3, end_degc=20.0, hours=12.0)
    >>> round(test.leak_g_per_h, 4), round(test.leak_mbar_l_per_s, 4), test.is_visible
    (0.0752, 0.0116, False)
    """
    volume = within("gas volume", volume_l, 0.01, 1000.0, "L")
    start = _checked_pressure("pressure at the start", start_bar_abs)
    end = _checked_pressure("pressure at the end", end_bar_abs)
    start_k = _checked_kelvin("temperature at the start", start_degc)
    end_k = _checked_kelvin("temperature at the end", end_degc)
    time = within("test time", hours, 0.05, 500.0, "h")
    drop = start * end_k / start_k - end
    g_per_h_and_bar = volume * CO2_G_PER_MOL / (_GAS_CONSTANT * end_k * time)
    hidden = _hidden_drop_bar(start, start_k, pressure_error_bar, temperature_error_degc)
    return LeakTest(
        corrected_drop_bar=drop,
        leak_g_per_h=g_per_h_and_bar * drop,
        leak_mbar_l_per_s=1000.0 * volume * drop / (time * _SECONDS_PER_HOUR),
        smallest_visible_g_per_h=g_per_h_and_bar * hidden,
    )


def _hidden_drop_bar(
    pressure_bar_abs: float,
    temperature_k: float,
    pressure_error_bar: float,
    temperature_error_degc: float,
) -> float:
    """Drop that the errors of two pressures and two temperatures can feign."""
    of_gauge = within("error of the gauge", pressure_error_bar, 0.0001, 1.0, "bar")
    of_thermometer = within("error of the thermometer", temperature_error_degc, 0.01, 5.0, "degC")
    return math.sqrt(2.0) * math.hypot(of_gauge, pressure_bar_abs * of_thermometer / temperature_k)


def _checked_pressure(name: str, pressure_bar_abs: float) -> float:
    return within(name, pressure_bar_abs, 0.5, HIGHEST_BAR_ABS, "bar absolute")


def _checked_kelvin(name: str, temperature_degc: float) -> float:
    return within(name, temperature_degc, -10.0, 50.0, "degC") + 273.15
