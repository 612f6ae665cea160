"""The form of a calculator, made from its declaration."""

from collections.abc import Mapping
from typing import Any

from django import forms

from kegsafe.calculators.answering import Answered, ask
from kegsafe.calculators.calculator import (
    AnyInput,
    Calculator,
    Choice,
    Input,
    PartsInput,
    Refused,
)
from kegsafe.frame.layout import FieldsHelper


class TypedField(forms.CharField):
    """Text as it was typed. Whether it may be blank, the calculator says, and in its own words."""

    def validate(self, value: Any) -> None:
        """Leave every judgement to the calculator."""


class CalculatorForm(forms.Form):
    """Fields that take units as people type them; `answered` holds the answer of a valid form."""

    use_required_attribute = False

    def __init__(self, calculator: Calculator, typed: Mapping[str, str] | None = None) -> None:
        super().__init__(typed)
        self.calculator = calculator
        self.typed = dict(typed or {})
        self.answered: Answered | None = None
        for each in calculator.inputs:
            self.fields[each.key] = _field(calculator, each)
        self.helper = FieldsHelper(self)
        self.helper.form_error_title = "No answer yet. Please look at this:"

    def clean(self) -> dict[str, Any]:
        """Ask the calculator, and put each refusal at its field."""
        cleaned = super().clean() or {}
        try:
            self.answered = ask(self.calculator, self.typed)
        except Refused as refused:
            for key, sentences in refused.errors.items():
                for sentence in sentences:
                    self.add_error(key or None, sentence)
        return cleaned


def _field(calculator: Calculator, each: AnyInput) -> TypedField:
    return TypedField(
        label=each.label,
        required=each.needed,
        widget=_widget(each),
        help_text=_help(calculator, each),
    )


def _widget(each: AnyInput) -> forms.Widget:
    if isinstance(each, Choice):
        return forms.Select(choices=[("", "Any"), *each.options])
    plain = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}
    if isinstance(each, Input):
        return forms.TextInput(attrs=plain)
    return forms.Textarea(attrs={**plain, "rows": 4})


def _help(calculator: Calculator, each: AnyInput) -> str:
    sentences = [_example(each)]
    if each.key in calculator.one_of:
        others = [calculator.by_key[key].label for key in calculator.one_of if key != each.key]
        sentences.append(f"Fill in this or: {', '.join(others).lower()}.")
    if each.blank_means:
        sentences.append(f"Left blank: {each.blank_means}.")
    return " ".join(sentence for sentence in sentences if sentence)


def _example(each: AnyInput) -> str:
    if isinstance(each, Input):
        return f"Such as {each.takes.partition(': ')[2]}."
    if isinstance(each, Choice):
        return ""
    if isinstance(each, PartsInput):
        columns = ", ".join(
            f"{column.label.lower()}{'' if column.needed else ' (may be left out)'}"
            for column in each.columns
        )
        row = ", ".join(column.example for column in each.columns if column.example)
        return f"One a line: {columns}. Such as {row}."
    return "One reading a line: time, temperature. Such as 2026-04-07 18:30, 4 °C or 1 h, 4 °C."
