"""The boiling-point check of a thermometer: what must hold at any altitude."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.boiling_point import boiling_point_at_altitude, boiling_point_at_pressure
from kegsafe.science.ranges import OutsideRange

altitudes = st.floats(-500.0, 4500.0)


@given(altitudes, altitudes)
def test_higher_up_water_never_boils_hotter(one, other):
    lower, higher = sorted((one, other))
    hot, hotter = boiling_point_at_altitude(higher), boiling_point_at_altitude(lower)
    assert hot.temperature_degc <= hotter.temperature_degc


def test_a_barometer_makes_the_boiling_point_surer_than_an_altitude():
    read, assumed = boiling_point_at_pressure(1.01325), boiling_point_at_altitude(0.0)
    assert read.uncertainty_degc < assumed.uncertainty_degc
    assert read.temperature_degc == pytest.approx(assumed.temperature_degc)


@pytest.mark.parametrize("metres", [-501.0, 4501.0, float("nan")])
def test_an_altitude_outside_the_range_gives_no_boiling_point(metres):
    with pytest.raises(OutsideRange, match="altitude must lie from -500 to 4500 m"):
        boiling_point_at_altitude(metres)
