"""Form fields for what a strip or a meter shows: one value, or a band between two blocks."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from kegsafe.quantities import Kind, UnreadableQuantity, read
from kegsafe.rules.cleaning.readings import Means, Reading

_BAND = re.compile(r"^(?P<low>.+?)\s*(?:\bto\b|–|(?<=[\d\w%])\s*-\s*(?=[\d.,]))\s*(?P<high>.+)$")
_OR_MORE = re.compile(r"^(?P<low>.+?)\s+or (?:more|above)$")
_BARE = re.compile(r"[\d.,\s]+")
_UNIT = re.compile(r"[\d.,\s]*(?P<unit>.*)")
_MG_PER_L_IN_A_PERCENT = 10_000  # by mass over volume


class ReadingField(forms.CharField):
    """A reading as people type it. Cleans to a `Reading`, or None when empty.

    '150 ppm' is what a meter showed; '100 to 200 ppm' the two blocks a strip lay between;
    '200 ppm or more' a colour past the last block.
    """

    kind: Kind | tuple[Kind, ...]

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=60, **kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """No memory of other people's figures."""
        attrs = {"autocomplete": "off", "spellcheck": "false", "autocapitalize": "off"}
        return {**super().widget_attrs(widget), **attrs}

    def clean(self, value: Any) -> Reading | None:
        """The reading, or a ValidationError that says what was wrong and what would be right."""
        typed = super().clean(value).strip()
        if not typed:
            return None
        if (beyond := _OR_MORE.match(typed)) is not None:
            return Reading(self._value(beyond["low"]), None, Means.STRIP)
        if (band := _BAND.match(typed)) is not None:
            return self._band(typed, band["low"], band["high"])
        return Reading.point(self._value(typed))

    def _band(self, typed: str, low: str, high: str) -> Reading:
        unit = _UNIT.fullmatch(high)
        if _BARE.fullmatch(low) and unit is not None:
            low = f"{low} {unit['unit']}"
        lowest, highest = self._value(low), self._value(high)
        if highest < lowest:
            raise ValidationError(
                f'"{typed}" runs backwards. Write the lower block first.', code="backwards"
            )
        return Reading(lowest, highest, Means.STRIP)

    def _value(self, typed: str) -> Decimal:
        try:
            quantity = read(typed, self.kind)
        except UnreadableQuantity as trouble:
            raise ValidationError(str(trouble), code=trouble.code) from None
        value = quantity.value
        if quantity.kind is Kind.PERCENT:
            value *= _MG_PER_L_IN_A_PERCENT
        if value < 0:
            raise ValidationError(f'"{typed}" is below 0, which no strip or meter shows.')
        return value


class StrengthField(ReadingField):
    """The strength of a solution, kept in mg/l: '150 ppm', '2.5 %', '100 to 200 ppm'."""

    kind = (Kind.SANITISER_STRENGTH, Kind.PERCENT)


class PhField(ReadingField):
    """A pH: '7.4', or the two blocks of a strip, '7.0 to 7.5'."""

    kind = Kind.PH

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """Digits come first on a phone; a band can still be typed."""
        return {**super().widget_attrs(widget), "inputmode": "text"}
