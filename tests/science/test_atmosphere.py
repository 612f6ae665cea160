"""Gauge against absolute, and the air at an altitude. [worked figures: computed]"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.atmosphere import (
    absolute_from_gauge_bar,
    gauge_from_absolute_bar,
    standard_pressure_bar_abs,
)
from kegsafe.science.ranges import OutsideRange

air = st.floats(0.5, 1.1)
PSI = 0.0689476


def test_130_psi_on_a_gauge_at_the_sea_is_almost_ten_bar_absolute():
    assert absolute_from_gauge_bar(130 * PSI) == pytest.approx(9.976, abs=0.002)


@given(st.floats(0.0, 500.0), air)
def test_gauge_to_absolute_and_back_is_the_same_reading(gauge, air_bar_abs):
    absolute = absolute_from_gauge_bar(gauge, air_bar_abs)
    assert absolute > gauge
    assert gauge_from_absolute_bar(absolute, air_bar_abs) == pytest.approx(gauge, abs=1e-9)


@given(air)
def test_a_gauge_at_rest_stands_at_the_pressure_of_the_air(air_bar_abs):
    assert absolute_from_gauge_bar(0.0, air_bar_abs) == air_bar_abs


def test_a_vacuum_below_nothing_is_refused():
    with pytest.raises(OutsideRange, match=r"gauge pressure must lie from -1\.01325 to 1000 bar"):
        absolute_from_gauge_bar(-1.5)


def test_an_air_pressure_in_millibar_is_refused_not_used():
    with pytest.raises(OutsideRange, match=r"air pressure must lie from 0\.5 to 1\.1 bar absolute"):
        absolute_from_gauge_bar(1.0, 1013.25)


@pytest.mark.parametrize(("metres", "bar"), [(1000, 0.90), (2000, 0.79)])
def test_the_air_is_thinner_higher_up(metres, bar):
    assert standard_pressure_bar_abs(metres) == pytest.approx(bar, abs=0.006)
