"""Figures of pressure and gas that no row of a check or a cylinder holds."""

from kegsafe.rules.practice import Figure, load_practice
from kegsafe.rules.pressure.regimes import PRESSURE


def figure(rule: str) -> Figure:
    """Return one figure by its rule id; KeyError when shared/pressure holds none."""
    return load_practice(PRESSURE / "figures.csv")[rule]
