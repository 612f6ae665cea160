"""From a concentrate to its working strength: how much concentrate, how much water.

`mg/l` is what food codes write as ppm. Whether a strength is too weak or too strong is
decided in the rules; the label of the product comes before any arithmetic, and a strip
after it. Caution beside every dose: add the concentrate to water, one product at a time;
bleach and acid together give off chlorine.
"""

from dataclasses import dataclass

from kegsafe.science.ranges import OutsideRange, within

HIGHEST_MG_PER_L = 2_000_000.0  # past the densest concentrate in the trade
MOLAR_MASS_RATIO_CHLORINE_TO_HYPOCHLORITE = 70.906 / 74.442


@dataclass(frozen=True, slots=True)
class Dose:
    """What to measure for a working solution.

    Attributes
    ----------
    concentrate_ml, water_ml : together the volume asked for, mixing taken as additive
    """

    concentrate_ml: float
    water_ml: float


def mg_per_l_from_percent_ww(percent_ww: float, density_g_per_ml: float) -> float:
    """Strength of a concentrate whose label gives grams per 100 g.

    Parameters
    ----------
    percent_ww : 0 to 100
    density_g_per_ml : of the concentrate, from its safety data sheet, 0.7 to 2.0

    Raises OutsideRange. Source: definition.

    >>> mg_per_l_from_percent_ww(10.0, 1.1089)
    110890.0
    """
    percent = within("strength", percent_ww, 0.0, 100.0, "% w/w")
    density = within("density", density_g_per_ml, 0.7, 2.0, "g/ml")
    return percent * density * 10_000.0


def mg_per_l_from_percent_wv(percent_wv: float) -> float:
    """Strength of a concentrate whose label gives grams per 100 ml.

    Parameters
    ----------
    percent_wv : 0 to 200; dense concentrates pass 100

    Raises OutsideRange. Source: definition.

    >>> mg_per_l_from_percent_wv(2.0)
    20000.0
    """
    return within("strength", percent_wv, 0.0, 200.0, "% w/v") * 10_000.0


def available_chlorine_percent(hypochlorite_percent_ww: float) -> float:
    """Available chlorine, % w/w, of a bleach labelled by its sodium hypochlorite.

    Parameters
    ----------
    hypochlorite_percent_ww : 0 to 30

    Raises OutsideRange. Source: molar masses Cl2 70.906, NaOCl 74.442 g/mol. [computed]

    >>> round(available_chlorine_percent(8.25), 2)
    7.86
    """
    percent = within("sodium hypochlorite", hypochlorite_percent_ww, 0.0, 30.0, "% w/w")
    return percent * MOLAR_MASS_RATIO_CHLORINE_TO_HYPOCHLORITE


def dose(stock_mg_per_l: float, target_mg_per_l: float, total_ml: float) -> Dose:
    """Concentrate and water that make up a volume of working solution.

    Parameters
    ----------
    stock_mg_per_l : of the concentrate, more than 0, to 2,000,000
    target_mg_per_l : 0 to the strength of the concentrate
    total_ml : of working solution, 0 to 1,000,000,000

    Raises OutsideRange. Source: mass balance; V1 C1 = V2 C2.

    >>> dose(100_000.0, 200.0, 1000.0)
    Dose(concentrate_ml=2.0, water_ml=998.0)
    """
    stock = within("strength of concentrate", stock_mg_per_l, 1e-6, HIGHEST_MG_PER_L, "mg/l")
    target = within("working strength", target_mg_per_l, 0.0, stock, "mg/l")
    total = within("volume of solution", total_ml, 0.0, 1e9, "ml")
    concentrate_ml = total * target / stock
    return Dose(concentrate_ml, total - concentrate_ml)


def parts_of_water(stock_mg_per_l: float, target_mg_per_l: float) -> float:
    """Parts of water to add to one part of concentrate.

    Parameters
    ----------
    stock_mg_per_l : 0 to 2,000,000
    target_mg_per_l : more than 0, to the strength of the concentrate

    Raises OutsideRange.

    Source: CDC, Environmental Infection Control, Appendix E: strength over strength wanted,
    less one. [read]

    >>> parts_of_water(35_000.0, 5_000.0)
    6.0
    """
    stock = within("strength of concentrate", stock_mg_per_l, 0.0, HIGHEST_MG_PER_L, "mg/l")
    return stock / within("working strength", target_mg_per_l, 1e-6, stock, "mg/l") - 1.0


def strength_mg_per_l(stock_mg_per_l: float, concentrate_ml: float, water_ml: float) -> float:
    """Strength reached when concentrate was poured into a measured amount of water.

    Parameters
    ----------
    stock_mg_per_l : 0 to 2,000,000
    concentrate_ml, water_ml : 0 or more, not both 0

    Raises OutsideRange. Source: mass balance.

    >>> strength_mg_per_l(52_500.0, 1.0, 127.0)
    410.15625
    """
    stock = within("strength of concentrate", stock_mg_per_l, 0.0, HIGHEST_MG_PER_L, "mg/l")
    poured = within("volume of concentrate", concentrate_ml, 0.0, 1e9, "ml")
    total = poured + within("volume of water", water_ml, 0.0, 1e9, "ml")
    if total == 0.0:
        raise OutsideRange("volume of solution", 0.0, 1e-6, 2e9, "ml")
    return stock * (poured / total)


def powder_g(active_percent: float, target_mg_per_l: float, total_l: float) -> float:
    """Grams of powder for a volume of working solution.

    Parameters
    ----------
    active_percent : of the powder by mass, more than 0, to 100
    target_mg_per_l : 0 to 500,000
    total_l : 0 to 1,000,000

    Raises OutsideRange.

    Source: CDC, Environmental Infection Control, Appendix E. [read]

    >>> round(powder_g(35.0, 5_000.0, 1.0), 1)
    14.3
    """
    active = within("active share of powder", active_percent, 1e-3, 100.0, "%")
    target = within("working strength", target_mg_per_l, 0.0, 500_000.0, "mg/l")
    return target * within("volume of solution", total_l, 0.0, 1e6, "l") / (active * 10.0)
