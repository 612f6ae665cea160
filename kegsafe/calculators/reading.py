"""From what was typed to what a calculator works with, or to sentences that help.

The command and the page both come through here, so both refuse the same things in the same
words.
"""

import difflib
from collections.abc import Mapping, Sequence

from kegsafe.calculators.calculator import (
    AnyInput,
    Calculator,
    Choice,
    Given,
    Input,
    PartsInput,
    Refused,
)
from kegsafe.calculators.lists import read_log, read_parts
from kegsafe.quantities import Quantity, UnreadableQuantity, read
from kegsafe.quantities.refusals import shown


def read_inputs(calculator: Calculator, typed: Mapping[str, str]) -> Given:
    """Read every input of a calculator. Raises Refused with a sentence at each that is wrong."""
    _refuse_unknown(calculator, typed)
    quantities: dict[str, Quantity] = {}
    words: dict[str, str] = {}
    parts: dict[str, Sequence[Sequence[Quantity | None]]] = {}
    logs: dict[str, Sequence[tuple[float, float]]] = {}
    errors: dict[str, list[str]] = {}
    for each in calculator.inputs:
        text = typed.get(each.key, "").strip() or _default(each)
        try:
            if not text:
                _need(each)
            elif isinstance(each, Input):
                quantities[each.key] = _quantity(each, text)
            elif isinstance(each, Choice):
                words[each.key] = _word(each, text)
            elif isinstance(each, PartsInput):
                parts[each.key] = read_parts(each, text)
            else:
                logs[each.key] = read_log(each, text)
        except Refused as refused:
            errors |= refused.errors
    if errors:
        raise Refused(errors)
    _check_one_of(calculator, typed)
    return Given(quantities, words, parts, logs)


def missing(calculator: Calculator, typed: Mapping[str, str]) -> list[str]:
    """Labels of what must still be filled in before there can be an answer."""
    blank = {each.key: each.label for each in calculator.inputs if not typed.get(each.key, "")}
    needed = [each.label for each in calculator.inputs if each.needed and each.key in blank]
    if calculator.one_of and all(key in blank for key in calculator.one_of):
        needed.append(" or ".join(blank[key] for key in calculator.one_of))
    return needed


def _default(each: AnyInput) -> str:
    return each.default if isinstance(each, Input | Choice) else ""


def _need(each: AnyInput) -> None:
    if each.needed:
        example = each.example.splitlines()[0]
        raise Refused.at(each.key, f"{each.label} is missing. Write it like this: {example}.")


def _quantity(each: Input, text: str) -> Quantity:
    try:
        return read(text, each.kind)
    except UnreadableQuantity as refusal:
        raise Refused.at(each.key, str(refusal)) from None


def _word(each: Choice, text: str) -> str:
    words = [value for value, _ in each.options]
    if text in words:
        return text
    near = difflib.get_close_matches(text.lower(), words, n=1)
    advice = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(words)}."
    raise Refused.at(each.key, f"{shown(text)} is not one of the choices here. {advice}")


def _refuse_unknown(calculator: Calculator, typed: Mapping[str, str]) -> None:
    unknown = [key for key in typed if key not in calculator.by_key]
    if not unknown:
        return
    known = list(calculator.by_key)
    near = difflib.get_close_matches(unknown[0].lower(), known, n=1, cutoff=0.5)
    advice = f"Did you mean {near[0]}?" if near else f"It takes {', '.join(known)}."
    raise Refused.at("", f"{calculator.name} takes no input called {shown(unknown[0])}. {advice}")


def _check_one_of(calculator: Calculator, typed: Mapping[str, str]) -> None:
    filled = [key for key in calculator.one_of if typed.get(key, "").strip()]
    if not calculator.one_of or len(filled) == 1:
        return
    labels = [calculator.by_key[key].label.lower() for key in calculator.one_of]
    both = "Both are" if len(labels) == 2 else "Several are"
    trouble = f"{both} filled in." if filled else "Neither is filled in."
    raise Refused.at("", f"{trouble} Give one of these and leave the rest: {', '.join(labels)}.")
