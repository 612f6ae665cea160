"""A temperature with its unit beside it: a bare number is enough, a typed unit wins."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.html import format_html
from django.utils.safestring import SafeString

from kegsafe.quantities import Kind, MissingUnit, Quantity, UnitSystem, UnreadableQuantity, read

UNITS = ("°C", "°F")
LONGEST = 40


class TemperatureWidget(forms.MultiWidget):
    """The number, and the unit of the thermometer to choose beside it."""

    def __init__(self, name: str) -> None:
        number = forms.TextInput(
            attrs={
                "class": "form-control",
                "aria-label": f"Temperature, {name}",
                "inputmode": "text",
                "autocomplete": "off",
                "autocapitalize": "off",
                "spellcheck": "false",
                "maxlength": LONGEST,
            }
        )
        unit = forms.Select(
            choices=[(unit, unit) for unit in UNITS],
            attrs={
                "class": "form-select w-auto flex-grow-0",
                "aria-label": f"Unit of the thermometer, {name}",
            },
        )
        super().__init__([number, unit])

    def decompress(self, value: Any) -> list[Any]:
        """Return number and unit; an empty field shows only the unit."""
        return list(value) if value else ["", UNITS[0]]

    def render(self, *args: Any, **kwargs: Any) -> SafeString:
        """Keep number and unit on one line."""
        return format_html('<div class="input-group">{}</div>', super().render(*args, **kwargs))

    def id_for_label(self, id_: str) -> str:
        """Point the label at the number."""
        return f"{id_}_0"


class TemperatureField(forms.MultiValueField):
    """Cleans to a Quantity of temperature, or None when nothing is typed.

    units : the venue's, for the unit chosen at first
    name : what the temperature belongs to, for the unit's spoken label
    """

    def __init__(self, *, name: str, units: UnitSystem, **kwargs: Any) -> None:
        fields = (
            forms.CharField(required=False),
            forms.ChoiceField(choices=[(unit, unit) for unit in UNITS], required=False),
        )
        kwargs.setdefault("initial", ["", UNITS[1] if units == "us" else UNITS[0]])
        super().__init__(fields, widget=TemperatureWidget(name), require_all_fields=False, **kwargs)

    def compress(self, data_list: list[str]) -> Quantity | None:
        """Return the temperature; ValidationError says what was wrong with the text."""
        typed, unit = data_list or ["", ""]
        if not typed and self.required:
            raise ValidationError(self.error_messages["required"], code="required")
        if not typed:
            return None
        try:
            return _read(typed, unit or UNITS[0])
        except UnreadableQuantity as trouble:
            raise ValidationError(str(trouble), code=trouble.code) from None


def _read(typed: str, unit: str) -> Quantity:
    try:
        return read(typed, Kind.TEMPERATURE)
    except MissingUnit:
        return read(f"{typed} {unit}", Kind.TEMPERATURE)
