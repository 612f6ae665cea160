"""From the words in the table to the base unit and back, by pint.

pint sees the names in the table and finished decimals, never what a person typed:
raw text makes it read 36 F as farads, 5,0 psi as 50 psi, and hang on 9**9**8.
"""

import re
import unicodedata
from decimal import Context, Decimal, localcontext
from functools import lru_cache

import pint

from kegsafe.quantities.kinds import Kind, KindRow, Unit
from kegsafe.quantities.table import ROWS
from kegsafe.quantities.typed_numbers import EXACT, SETTLED, SMALLEST

_UNHEARD = re.compile(r"[\s.()]+")
_SURE = Context(prec=10)
_TEMPERATURE_STEP = Decimal("1e-9")  # degC; 39.2 degF is then exactly 4 degC


def key(word: str) -> str:
    """What two spellings of one unit have in common: FL. OZ and floz, ℃ and °c."""
    return _UNHEARD.sub("", unicodedata.normalize("NFKC", word).casefold())


@lru_cache(maxsize=len(Kind))
def words_of(kind: Kind) -> dict[str, tuple[str, Unit]]:
    """Every accepted spelling of a kind: key -> (word as shown, unit)."""
    return {key(word): (word, unit) for unit in reversed(ROWS[kind].units) for word in unit.words}


@lru_cache(maxsize=len(Kind))
def refusals_of(kind: Kind) -> dict[str, str]:
    """Spellings a kind refuses for a stated reason: key -> sentence."""
    return {key(word): sentence for word, sentence in ROWS[kind].refused.items()}


def unit_called(row: KindRow, word: str) -> Unit:
    """The unit of a kind behind a word of the table. Raises KeyError for other words."""
    return words_of(row.kind)[key(word)][1]


def to_base(value: Decimal, unit: Unit, row: KindRow) -> Decimal:
    """A value in `unit` as the kind's base unit, settled to twelve figures."""
    return settle(_convert(value, unit, unit_called(row, row.base), row), row)


def from_base(value: Decimal, unit: Unit, row: KindRow) -> Decimal:
    """A value in the kind's base unit as `unit`, with ten figures, so that 50 psi come back as 50.

    Twelve figures of a base unit hold ten of any other for certain; the base unit itself
    keeps all twelve.
    """
    base = unit_called(row, row.base)
    converted = settle(_convert(value, base, unit, row), row)
    return converted if unit == base else settle(_SURE.plus(converted), row)


def settle(value: Decimal, row: KindRow) -> Decimal:
    """Twelve figures, and a plain exponent: conversion noise ends here."""
    if row.has_zero_offset:
        value = value.quantize(_TEMPERATURE_STEP, context=EXACT)
    settled = SETTLED.plus(value).normalize(SETTLED)
    if abs(settled) < SMALLEST:
        return Decimal(0)
    return settled.quantize(Decimal(1), context=EXACT) if _is_whole(settled) else settled


def _is_whole(value: Decimal) -> bool:
    exponent = value.as_tuple().exponent
    return isinstance(exponent, int) and exponent > 0


def _convert(value: Decimal, source: Unit, target: Unit, row: KindRow) -> Decimal:
    if source == target:
        return value
    if row.has_zero_offset and source.name and target.name:
        return _magnitude(value, source.name, target.name)
    return EXACT.multiply(value, _factor(source, target))


@lru_cache(maxsize=1024)
def _factor(source: Unit, target: Unit) -> Decimal:
    times = EXACT.divide(source.times, target.times)
    if source.name is None or target.name is None or source.name == target.name:
        return times
    return EXACT.multiply(times, _magnitude(Decimal(1), source.name, target.name))


def _magnitude(value: Decimal, source: str, target: str) -> Decimal:
    with localcontext(EXACT):
        magnitude = _registry().Quantity(value, source).to(target).magnitude
        return Decimal(magnitude)


@lru_cache(maxsize=1)
def _registry() -> "pint.UnitRegistry[Decimal]":
    """Built once, on first use: it takes about a third of a second."""
    return pint.UnitRegistry(non_int_type=Decimal)
