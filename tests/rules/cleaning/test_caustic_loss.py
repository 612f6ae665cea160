"""How much caustic the CO2 of a keg uses up, beside the step it matters at."""

from decimal import Decimal

import pytest

from kegsafe.rules.cleaning.caustic_loss import caustic_loss
from kegsafe.science.ranges import OutsideRange
from tests.rules.cleaning.cleaning_facts import d


def test_a_keg_of_nineteen_litres_uses_up_more_than_three_litres_of_two_per_cent():
    """Molar volume of a gas 22.414 l at 0 °C, so 24.055 l at 20 °C (CODATA); NaOH 39.997 g/mol.

    19 l / 24.055 l/mol x 2 x 39.997 g/mol = 63.2 g: 3.2 l of 20 g/l. CO2 is half a per cent
    denser than an ideal gas. [from memory]
    """
    lost = caustic_loss("Keg K7", d(19_000), d(20_000))
    assert float(lost.caustic_g) == pytest.approx(63.2, abs=1)
    assert lost.solution_l == pytest.approx(Decimal("3.2"), abs=Decimal("0.05"))
    assert lost.sentence == (
        "Keg K7 full of CO2 uses up 64 g of sodium hydroxide, all that is in 3.2 l of a solution "
        "of 2 %."
    )


def test_without_a_strength_on_record_only_the_caustic_is_said():
    lost = caustic_loss("Keg K7", d(19_000), None)
    assert lost.solution_l is None
    assert lost.sentence == "Keg K7 full of CO2 uses up 64 g of sodium hydroxide."


@pytest.mark.parametrize("strength", [999, 200_001])
def test_a_strength_no_wash_has_is_refused(strength):
    with pytest.raises(OutsideRange):
        caustic_loss("Keg K7", d(19_000), d(strength))
