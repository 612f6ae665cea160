"""Ask a calculator: read, work, and turn every refusal of the science into a sentence."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from kegsafe.calculators.calculator import (
    Answer,
    Calculator,
    Given,
    Input,
    Refused,
    base_value,
)
from kegsafe.calculators.plot import Plot
from kegsafe.calculators.reading import read_inputs
from kegsafe.quantities import UnitSystem, write, write_exact
from kegsafe.quantities.refusals import shown
from kegsafe.science.ranges import OutsideRange

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Answered:
    """A calculator, what it was given, what it found, and what it took for what was left blank."""

    calculator: Calculator
    given: Given
    answer: Answer
    left_blank: tuple[str, ...]

    @property
    def uncertainty(self) -> str:
        """How good the figures are."""
        return self.answer.uncertainty or self.calculator.uncertainty

    def as_json(self) -> dict[str, Any]:
        """The answer for scripts. Numbers keep every figure; people round."""
        return {
            "name": self.calculator.name,
            "inputs": self._inputs(),
            "result": {
                each.key: {"value": each.value, "unit": each.unit} for each in self.answer.results
            },
            "range": self.calculator.range,
            "uncertainty": self.uncertainty,
            "source": self.calculator.source,
            "verified": self.calculator.verified,
            "cautions": [*self.answer.warnings, *self.calculator.cautions],
        }

    def _inputs(self) -> dict[str, Any]:
        parts = {
            key: [[None if cell is None else write_exact(cell) for cell in row] for row in rows]
            for key, rows in self.given.parts.items()
        }
        logs = {key: [list(reading) for reading in log] for key, log in self.given.logs.items()}
        quantities = {key: write_exact(each) for key, each in self.given.quantities.items()}
        return {**quantities, **self.given.words, **parts, **logs}


def ask(calculator: Calculator, typed: Mapping[str, str]) -> Answered:
    """Answer from what was typed. Raises Refused, and nothing else, for whatever was typed."""
    given = read_inputs(calculator, typed)
    answer = _at_work(calculator, given, typed, calculator.work)
    return Answered(calculator, given, answer, tuple(_left_blank(calculator, typed)))


def plot(calculator: Calculator, typed: Mapping[str, str], units: UnitSystem) -> Plot | None:
    """The plot of what was typed; None where the calculator has none. Raises Refused."""
    if calculator.plot is None:
        return None
    draw = calculator.plot
    return _at_work(calculator, read_inputs(calculator, typed), typed, lambda g: draw(g, units))


def _at_work(
    calculator: Calculator, given: Given, typed: Mapping[str, str], work: Callable[[Given], T]
) -> T:
    try:
        return work(given)
    except OutsideRange as outside:
        raise _placed(calculator, typed, outside) from None
    except (ValueError, ArithmeticError) as error:
        sentence = str(error) if isinstance(error, ValueError) else "These figures are too far off."
        raise Refused.at("", f"{sentence[:1].upper()}{sentence[1:]}") from None


def _left_blank(calculator: Calculator, typed: Mapping[str, str]) -> list[str]:
    return [
        f"{each.label}: {each.blank_means}"
        for each in calculator.inputs
        if each.blank_means and not typed.get(each.key, "").strip()
    ]


def _placed(calculator: Calculator, typed: Mapping[str, str], outside: OutsideRange) -> Refused:
    """Put a refusal of the science layer at the input that it is about."""
    for each in calculator.inputs:
        if isinstance(each, Input) and outside.name in each.science_names:
            text = typed.get(each.key, "").strip() or each.default
            return Refused.at(each.key, _sentence(each, text, outside))
    sentence = str(outside)
    return Refused.at("", f"{sentence[:1].upper()}{sentence[1:]}")


def _sentence(each: Input, text: str, outside: OutsideRange) -> str:
    ends = [_written(each, end, outside.unit) for end in (outside.low, outside.high)]
    return (
        f"{shown(text)} is outside what this relation covers. "
        f"{each.label} may be from {ends[0]} to {ends[1]}."
    )


def _written(each: Input, value: float, unit: str) -> str:
    for kind in each.kinds:
        try:
            base = base_value(value, unit, kind)
        except (KeyError, ArithmeticError, ValueError):
            continue
        return write(base, kind, "metric", both=True)
    return f"{value:g} {unit}".strip()
