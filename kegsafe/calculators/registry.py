"""Every calculator, in the order of the index."""

import difflib
from collections.abc import Mapping
from types import MappingProxyType

from kegsafe.calculators import carbonation, drinks, gas, keg_pressure, lines, temperature
from kegsafe.calculators.calculator import Calculator
from kegsafe.quantities.refusals import shown

CALCULATORS: tuple[Calculator, ...] = (
    *carbonation.CALCULATORS,
    *keg_pressure.CALCULATORS,
    *gas.CALCULATORS,
    *drinks.CALCULATORS,
    *lines.CALCULATORS,
    *temperature.CALCULATORS,
)
BY_NAME: Mapping[str, Calculator] = MappingProxyType({each.name: each for each in CALCULATORS})


class UnknownCalculator(LookupError):
    """No calculator has this name. `str()` is a sentence that names the nearest."""


def calculator_called(name: str) -> Calculator:
    """Return one calculator; UnknownCalculator names the nearest."""
    try:
        return BY_NAME[name]
    except KeyError:
        near = difflib.get_close_matches(name.lower(), BY_NAME, n=1, cutoff=0.5)
        advice = f"Did you mean {near[0]}?" if near else "calc alone lists them all."
        raise UnknownCalculator(f"There is no calculator {shown(name)}. {advice}") from None


def by_subject(wanted: str = "") -> list[tuple[str, list[Calculator]]]:
    """Calculators under their headings; those alone that hold every word wanted."""
    words = wanted.casefold().split()
    found: dict[str, list[Calculator]] = {}
    for each in CALCULATORS:
        text = f"{each.name} {each.title} {each.purpose} {each.subject}".casefold()
        if all(word in text for word in words):
            found.setdefault(each.subject, []).append(each)
    return list(found.items())
