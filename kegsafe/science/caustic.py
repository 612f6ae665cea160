"""Caustic meets CO2: how much of each is used up in a keg that was not vented.

2 NaOH + CO2 gives Na2CO3 + H2O. The wash loses its strength, and the gas vanishes: a closed
keg is pulled towards vacuum. Caution wherever these numbers are shown: open and flood the keg,
or vent it with air, before caustic goes in, and never shake caustic in a closed keg.
"""

from dataclasses import dataclass

from kegsafe.science.atmosphere import absolute_from_gauge_bar
from kegsafe.science.carbonation import gas_mol_per_l
from kegsafe.science.ranges import within

NAOH_G_PER_MOL = 39.997
NAOH_MOL_PER_CO2_MOL = 2.0


@dataclass(frozen=True, slots=True)
class CausticLoss:
    """What CO2 in a keg takes from a caustic wash.

    Attributes
    ----------
    co2_mol : in the keg's gas space
    caustic_g : sodium hydroxide that much CO2 neutralises, if all of it reacts
    solution_l : of the working solution that holds so much sodium hydroxide
    """

    co2_mol: float
    caustic_g: float
    solution_l: float


def caustic_lost_to_co2(
    gas_l: float, temperature_degc: float, gauge_bar: float, strength_mg_per_l: float
) -> CausticLoss:
    """Caustic that a keg full of CO2 uses up, taking all the gas to be CO2.

    Parameters
    ----------
    gas_l : gas space of the keg, 0 to 1000
    temperature_degc : 0 to 45
    gauge_bar : 0 (vented, not flooded) to 10
    strength_mg_per_l : sodium hydroxide in the working solution, 1000 to 200,000

    Raises OutsideRange.

    Source: stoichiometry; molar mass of NaOH 39.997 g/mol; gas by `gas_mol_per_l`. [computed]

    >>> round(caustic_lost_to_co2(19.0, 20.0, 0.0, 20_000.0).solution_l, 1)
    3.2
    """
    volume = within("gas space", gas_l, 0.0, 1000.0, "l")
    absolute = absolute_from_gauge_bar(within("gauge pressure", gauge_bar, 0.0, 10.0, "bar"))
    strength = within("strength", strength_mg_per_l, 1000.0, 200_000.0, "mg/l")
    co2_mol = volume * gas_mol_per_l(temperature_degc, absolute)
    caustic_g = co2_mol * NAOH_MOL_PER_CO2_MOL * NAOH_G_PER_MOL
    return CausticLoss(co2_mol, caustic_g, caustic_g * 1000.0 / strength)
