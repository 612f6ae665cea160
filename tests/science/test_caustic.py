"""Caustic that the CO2 of a keg uses up."""

import pytest

from kegsafe.science.caustic import caustic_lost_to_co2
from kegsafe.science.ranges import OutsideRange

PSI_BAR = 0.0689476


@pytest.mark.parametrize(
    ("gauge_psi", "co2_mol", "caustic_g", "solution_l"),
    [(0, 0.79, 63, 3.2), (12, 1.43, 115, 5.7), (30, 2.40, 192, 9.6)],
)
def test_a_19_litre_keg_at_20_degc_against_the_ideal_gas(gauge_psi, co2_mol, caustic_g, solution_l):
    """n = pV/RT by hand, 2 mol of NaOH at 39.997 g a mol of CO2, 2 % w/v. [computed]

    The real gas holds up to 2 % more at 30 psi.
    """
    lost = caustic_lost_to_co2(19.0, 20.0, gauge_psi * PSI_BAR, 20_000.0)
    assert lost.co2_mol == pytest.approx(co2_mol, rel=0.02)
    assert lost.caustic_g == pytest.approx(caustic_g, rel=0.02)
    assert lost.solution_l == pytest.approx(solution_l, rel=0.02)


def test_a_flooded_keg_loses_nothing():
    assert caustic_lost_to_co2(0.0, 20.0, 0.0, 20_000.0).caustic_g == 0.0


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((-1.0, 20.0, 0.0, 20_000.0), "gas space"),
        ((19.0, 20.0, -0.1, 20_000.0), "gauge pressure"),
        ((19.0, 20.0, 0.0, 0.0), "strength"),
        ((19.0, 90.0, 0.0, 20_000.0), "gas temperature"),
    ],
)
def test_numbers_no_bar_has_are_refused_by_name(arguments, named):
    with pytest.raises(OutsideRange, match=named):
        caustic_lost_to_co2(*arguments)
