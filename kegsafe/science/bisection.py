"""The one way this project inverts a relation that rises all the way."""

from collections.abc import Callable

_HALVINGS = 60  # leaves less than one part in 10^18 of the first interval: past a float's digits


def solve_rising(
    relation: Callable[[float], float], target: float, low: float, high: float
) -> float:
    """Return the x between low and high at which a rising relation reaches the target.

    Halving cannot be thrown off as a slope method can, so the answer always lies in the
    interval; a target outside it gives the nearer end, which the caller must have refused.

    Parameters
    ----------
    relation : never falls between low and high
    target : in the unit the relation returns
    low, high : in the unit the relation takes, low <= high

    >>> round(solve_rising(lambda x: x * x, 2.0, 0.0, 2.0), 9)
    1.414213562
    """
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if relation(middle) < target:
            low = middle
        else:
            high = middle
    return (low + high) / 2
