"""Fields for what is stamped on steel: a month with its year, a day, a file."""

import re
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

_YEAR_FIRST = re.compile(r"([0-9]{4})[-/. ]([0-9]{1,2})")
_MONTH_FIRST = re.compile(r"([0-9]{1,2})[-/. ]([0-9]{4})")
_EARLIEST_YEAR = 1950


class MonthField(forms.CharField):
    """A month and a year as they are stamped: 6/2021 or 2021-06. Cleans to the first of it.

    Two figures for a year are refused: 6/12 is two different months. So is a month to come.
    """

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Month and year, for example 6/2021.")
        kwargs["widget"] = forms.TextInput(attrs={"autocomplete": "off", "inputmode": "text"})
        super().__init__(max_length=10, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """Show a stored month as somebody would type it."""
        return f"{value.month}/{value.year}" if isinstance(value, date) else value

    def clean(self, value: Any) -> date | None:
        """The first of the month, None for an empty field that may be empty."""
        typed = super().clean(value)
        if not typed:
            return None
        month = self._read(typed)
        if month > timezone.localdate():
            raise ValidationError(f'"{typed}" is still to come. Copy what is stamped: 6/2021.')
        return month

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether the text differs from what was shown."""
        return super().has_changed(self.prepare_value(initial), data)

    def _read(self, typed: str) -> date:
        text = typed.strip()
        if found := _YEAR_FIRST.fullmatch(text):
            year, month = map(int, found.groups())
        elif found := _MONTH_FIRST.fullmatch(text):
            month, year = map(int, found.groups())
        else:
            raise ValidationError(
                f'"{typed}" is no month with its year. Write the year in four figures: 6/2021.'
            )
        if not 1 <= month <= 12 or year < _EARLIEST_YEAR:
            raise ValidationError(f'"{typed}" is no month of a stamp. Write it like 6/2021.')
        return date(year, month, 1)


def day_field(**kwargs: Any) -> forms.DateField:
    """Return a field for a day, written year-month-day and in no other order."""
    return forms.DateField(
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": "This is no date. Write year-month-day, such as 2026-04-07."},
        **kwargs,
    )


def yes_no_field(label: str, **kwargs: Any) -> forms.TypedChoiceField:
    """Return a field that is yes, no, or not known; not known is where it starts."""
    return forms.TypedChoiceField(
        label=label,
        choices=(("", "Not known"), ("yes", "Yes"), ("no", "No")),
        coerce=lambda word: word == "yes",
        empty_value=None,
        required=False,
        **kwargs,
    )


def as_yes_no(value: bool | None) -> str:
    """Return a stored answer as the field's own word."""
    return "" if value is None else "yes" if value else "no"
