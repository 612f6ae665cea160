"""Only good readings at every tap prove that the detergent is out."""

import pytest

from kegsafe.rules.cleaning.guidance import guidance
from kegsafe.rules.cleaning.records import RecordedStep
from kegsafe.rules.cleaning.rinse_proof import is_rinse_verified
from tests.rules.cleaning.cleaning_facts import at, band

TAP_WATER = at("7.4")


@pytest.mark.parametrize(
    ("tap_water", "taps", "is_verified"),
    [
        (TAP_WATER, (at("7.4"),), True),
        (TAP_WATER, (at("7.9"),), True),
        (TAP_WATER, (at("7.91"),), False),
        (TAP_WATER, (at("6.9"),), True),
        (TAP_WATER, (at("6.89"),), False),
        (TAP_WATER, (), False),
        (None, (at("7.4"),), False),
        (TAP_WATER, (at("7.4"), at(12)), False),
        (TAP_WATER, (band(7, 8),), False),
        (band(7, "7.5"), (band(7, "7.5"),), True),
    ],
    ids=str,
)
def test_a_rinse_is_proved_by_its_readings_alone(tap_water, taps, is_verified):
    recorded = RecordedStep(position=4, tap_water_ph=tap_water, outlet_ph=taps)
    assert is_rinse_verified(guidance("cleaning.ph_tolerance"), recorded, 1) is is_verified


def test_a_tap_that_nobody_read_proves_nothing():
    recorded = RecordedStep(position=4, tap_water_ph=TAP_WATER, outlet_ph=(at("7.4"),))
    assert not is_rinse_verified(guidance("cleaning.ph_tolerance"), recorded, 2)
