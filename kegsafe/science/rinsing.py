"""What a rinse leaves behind, and how much of the last drink the next pour carries.

Two models bracket a clean straight tube: plug flow pushes the old liquid out whole, full
mixing thins it. Neither knows the film on the wall, dead legs or dried protein, so the
real residue can be HIGHER than full mixing says. These numbers may say "not clean
enough"; they never say "clean".
"""

import math
from dataclasses import dataclass

from kegsafe.science.ranges import within
from kegsafe.science.tables import rows


@dataclass(frozen=True, slots=True)
class CarryOver:
    """Protein of the last drink that stays in a line and what the next pour takes.

    Attributes
    ----------
    plug_flow_mg : left in the line if the rinse pushed like a piston: the lower bound
    fully_mixed_mg : left in the line if the rinse mixed: the working bound
    first_pour_mg : in the next pour, fully mixed
    """

    plug_flow_mg: float
    fully_mixed_mg: float
    first_pour_mg: float

    @property
    def cautious_pour_mg(self) -> float:
        """What to compare with a reference dose: all that is left, in one glass."""
        return self.fully_mixed_mg


def residual_plug_flow(rinse_volumes: float) -> float:
    """Share of the old liquid left if the rinse pushes it out like a piston.

    Parameters
    ----------
    rinse_volumes : rinse over volume of the line, 0 to 100,000

    Raises OutsideRange. Source: plug flow.

    >>> residual_plug_flow(0.25)
    0.75
    """
    return max(0.0, 1.0 - within("rinse", rinse_volumes, 0.0, 1e5, "line volumes"))


def residual_fully_mixed(rinse_volumes: float) -> float:
    """Share of the old liquid left if the rinse mixes with it as in a stirred vessel.

    Parameters
    ----------
    rinse_volumes : rinse over volume of the vessel, 0 to 100,000

    Raises OutsideRange. Source: stirred tank, C = C0 exp(-V/Vs).

    >>> round(residual_fully_mixed(2.3), 2)
    0.1
    """
    return math.exp(-within("rinse", rinse_volumes, 0.0, 1e5, "line volumes"))


def residual_tanks_in_series(rinse_volumes: float, tanks: int) -> float:
    """Concentration at the outlet over the first one, for a line that acts as mixed tanks.

    Parameters
    ----------
    rinse_volumes : rinse over volume of the whole line, 0 to 100
    tanks : 1 for full mixing, more as the line nears plug flow; 1 to 100

    Raises OutsideRange. Source: tanks in series, exp(-N t) times the sum of (N t)^i / i!.

    >>> round(residual_tanks_in_series(5.5, 2) * 5000, 1)
    1.0
    """
    volumes = within("rinse", rinse_volumes, 0.0, 100.0, "line volumes")
    stages = int(within("tanks", tanks, 1, 100))
    term = math.exp(-stages * volumes)
    total = term
    for stage in range(1, stages):
        term *= stages * volumes / stage
        total += term
    return min(1.0, total)


def rinse_needed_ml(volume_ml: float, start: float, target: float) -> float:
    """Rinse water that thins a fully mixed line from one content to another, ml.

    Parameters
    ----------
    volume_ml : of the line with its fittings, 0 to 100,000
    start, target : in the same unit, both more than 0

    Raises OutsideRange. Source: stirred tank, R = V ln(M0/m). A target already met needs 0.

    >>> round(rinse_needed_ml(60.0, 180.0, 1.0), 1)
    311.6
    """
    volume = within("volume of the line", volume_ml, 0.0, 1e5, "ml")
    first = within("content before the rinse", start, 1e-12, 1e12)
    last = within("content wanted", target, 1e-12, 1e12)
    return volume * max(0.0, math.log(first / last))


def line_carry_over(
    line_ml: float, protein_mg_per_ml: float, rinse_ml: float, pour_ml: float
) -> CarryOver:
    """Allergen protein that the next drink takes from a rinsed line.

    Parameters
    ----------
    line_ml : volume of the line with its fittings, more than 0, to 100,000
    protein_mg_per_ml : of the last drink, 0 to 1000
    rinse_ml : that left the line, 0 to 1,000,000
    pour_ml : the largest pour sold, 0 to 100,000

    Raises OutsideRange. Source: plug flow and stirred tank; the choice of the whole residue
    in one glass is a house rule.

    >>> round(line_carry_over(60.0, 3.0, 300.0, 150.0).fully_mixed_mg, 3)
    1.213
    """
    line = within("volume of the line", line_ml, 0.1, 1e5, "ml")
    first_mg = line * within("protein of the last drink", protein_mg_per_ml, 0.0, 1000.0, "mg/ml")
    volumes = within("rinse", rinse_ml, 0.0, 1e6, "ml") / line
    mixed_mg = first_mg * residual_fully_mixed(volumes)
    share_poured = 1.0 - math.exp(-within("pour", pour_ml, 0.0, 1e5, "ml") / line)
    return CarryOver(first_mg * residual_plug_flow(volumes), mixed_mg, mixed_mg * share_poured)


def heel_after_rinses(heel_ml: float, content_per_ml: float, rinse_ml: float, rinses: int) -> float:
    """Content per ml of what stays in a keg after fill-and-drain rinses.

    Parameters
    ----------
    heel_ml : left in the keg after each drain, more than 0, to 100,000
    content_per_ml : of the first heel, in any unit, 0 or more
    rinse_ml : water of each rinse, 0 to 100,000
    rinses : 0 to 50, each drained back to the heel

    Raises OutsideRange. Source: dilution, c = c0 (h/(h + W))^n.

    >>> round(heel_after_rinses(100.0, 20.0, 2000.0, 1), 3)
    0.952
    """
    heel = within("heel", heel_ml, 1e-3, 1e5, "ml")
    water = within("water of a rinse", rinse_ml, 0.0, 1e5, "ml")
    content = within("content of the heel", content_per_ml, 0.0, 1e9)
    return content * math.pow(heel / (heel + water), within("rinses", rinses, 0, 50))


def heel_per_pour_mg(
    heel_ml: float, protein_mg_per_ml: float, keg_ml: float, pour_ml: float
) -> float:
    """Protein from a heel in each pour of the keg filled on top of it, mg.

    A keg deliberately topped up on a heel is another matter: then the old drink is an
    ingredient of the new one.

    Parameters
    ----------
    heel_ml : 0 to the contents of the keg
    protein_mg_per_ml : of the heel, 0 to 1000
    keg_ml : contents once filled, more than 0, to 100,000
    pour_ml : the largest pour sold, 0 to the contents of the keg

    Raises OutsideRange. Source: dilution.

    >>> round(heel_per_pour_mg(30.0, 3.0, 19_000.0, 150.0), 3)
    0.711
    """
    keg = within("contents of the keg", keg_ml, 1.0, 1e5, "ml")
    heel = within("heel", heel_ml, 0.0, keg, "ml")
    protein = within("protein of the heel", protein_mg_per_ml, 0.0, 1000.0, "mg/ml")
    return heel * protein * within("pour", pour_ml, 0.0, keg, "ml") / keg


def reference_dose_mg(atom: str, dose_set: str = "FAO/WHO") -> float | None:
    """Reference dose of an allergenic source in mg of its protein; None if none is on file.

    Such doses serve precautionary decisions about unintended presence. They are no limit
    for "free from", and None never means "any amount".

    Parameters
    ----------
    atom : allergenic source, such as "almond"
    dose_set : "FAO/WHO" or "Belgium", as in science/allergen_reference_doses.csv

    Source: the row; FAO/WHO parts 2 (2022) and 5 (2023), Belgian advice 24-2017. [second-hand]

    >>> reference_dose_mg("almond"), reference_dose_mg("oats")
    (1.0, None)
    """
    for row in rows("science/allergen_reference_doses"):
        if row["set"] == dose_set and row["atom"] == atom:
            return float(row["protein_mg"])
    return None


def action_level_mg_per_kg(reference_dose_mg_protein: float, eaten_g: float) -> float:
    """Protein content at which a portion holds one reference dose, mg/kg.

    Parameters
    ----------
    reference_dose_mg_protein : 0 to 10,000
    eaten_g : the largest portion, more than 0, to 10,000

    Raises OutsideRange.

    Source: dose over amount eaten, as worked in Belgian advice 24-2017. [second-hand]

    >>> action_level_mg_per_kg(1.1, 25.0)
    44.0
    """
    reference = within("reference dose", reference_dose_mg_protein, 0.0, 10_000.0, "mg")
    return reference * 1000.0 / within("portion", eaten_g, 0.1, 10_000.0, "g")
