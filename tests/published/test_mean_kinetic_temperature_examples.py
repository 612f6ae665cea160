"""Mean kinetic temperatures that others worked out."""

import pytest

from kegsafe.science.mean_kinetic_temperature import Hold, mean_kinetic_temperature_degc


def test_a_steady_year_has_its_own_temperature():
    """USP example: 52 weekly means of 25 degC give 298.1 K, 25.0 degC. [second-hand]"""
    year = [Hold(168.0, 25.0)] * 52
    assert mean_kinetic_temperature_degc(year) == pytest.approx(25.0, abs=0.05)


def test_a_room_a_refrigerator_and_a_dock_make_15_7():
    """Isopharm FAQ: 2 h at 20, 4 h at 2, 1 h at 25 degC is 15.7 degC for 7 h. [read]"""
    trip = [Hold(2.0, 20.0), Hold(4.0, 2.0), Hold(1.0, 25.0)]
    assert mean_kinetic_temperature_degc(trip) == pytest.approx(15.7, abs=0.05)


def test_the_order_of_the_holds_does_not_matter():
    """USP <1160> takes a mean over readings: it knows no order. [read]"""
    trip = [Hold(4.0, 2.0), Hold(1.0, 25.0), Hold(2.0, 20.0)]
    assert mean_kinetic_temperature_degc(trip) == pytest.approx(15.7, abs=0.05)
