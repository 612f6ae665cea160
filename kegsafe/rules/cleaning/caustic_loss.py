"""What a keg that is still full of CO2 takes from a caustic wash, said at the step.

The wash loses its strength and the gas vanishes, so a closed keg is pulled towards vacuum. The
figure is a reason to flood or vent the keg first; it is never a dose to make up for.
"""

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal

from kegsafe.rules.cleaning.guidance import amount
from kegsafe.science.caustic import caustic_lost_to_co2

SOURCE = "2 NaOH + CO2 gives Na2CO3 + H2O; gas at 20 °C [computed]"
UNCERTAINTY = (
    "Taken: all gas is CO2, without pressure, and all of it reacts. Under pressure it is more, by "
    "as many times; with air in the keg less."
)
_CELLAR_DEGC = 20.0


@dataclass(frozen=True, slots=True)
class CausticLoss:
    """What is neutralised in one keg; `solution_l` is None where no strength is on record."""

    caustic_g: Decimal
    solution_l: Decimal | None
    sentence: str


def caustic_loss(keg: str, capacity_ml: Decimal, strength_mg_per_l: Decimal | None) -> CausticLoss:
    """Return what the CO2 in a keg that was vented but not flooded uses up, with its sentence.

    Parameters
    ----------
    capacity_ml : of the keg, all of it gas, more than 0 to 1,000,000
    strength_mg_per_l : sodium hydroxide of the working solution, 1000 to 200,000

    Raises OutsideRange.

    Source: stoichiometry, `kegsafe.science.caustic`. [computed]
    """
    gas_l = float(capacity_ml) / 1000.0
    lost = caustic_lost_to_co2(gas_l, _CELLAR_DEGC, 0.0, float(strength_mg_per_l or 1000))
    grams = _up(lost.caustic_g, "1")
    solution = None if strength_mg_per_l is None else _up(lost.solution_l, "0.1")
    opening = f"{keg} full of CO2 uses up {grams} g of sodium hydroxide"
    if solution is None or strength_mg_per_l is None:
        return CausticLoss(grams, None, f"{opening}.")
    holds = f"all that is in {solution} l of a solution of {amount(strength_mg_per_l, 'mg/l')}"
    return CausticLoss(grams, solution, f"{opening}, {holds}.")


def _up(value: float, step: str) -> Decimal:
    """Round up to what can be read: the loss is never shown smaller than it is."""
    return Decimal(str(value)).quantize(Decimal(step), ROUND_UP)
