"""Polynomials, as the published density formulas print them."""

from collections.abc import Sequence


def polynomial(coefficients: Sequence[float], x: float) -> float:
    """Value of c0 + c1 x + c2 x^2 + ..., summed by Horner's rule.

    Parameters
    ----------
    coefficients : c0, c1, c2, ... in rising powers
    x : any finite number

    >>> polynomial((1.0, 2.0, 3.0), 2.0)
    17.0
    """
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total
