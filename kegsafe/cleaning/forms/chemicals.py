"""Chemicals as their labels read, and batches in the cupboard."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from kegsafe.cleaning.forms.reading_fields import StrengthField
from kegsafe.cleaning.models import Chemical, ChemicalBatch
from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.quantities import Kind
from kegsafe.rules.cleaning.readings import Reading

_MOST_BLOCKS = 12


class ChemicalForm(forms.ModelForm):
    """One product: who sells it, what it is, what the label says. Left out is not recorded."""

    stock = StrengthField(
        label="Strength of the concentrate", help_text="From the data sheet: 25 %, 250 g/L."
    )
    in_use = StrengthField(
        label="Strength in use", help_text="As the label says: 1 to 4 %, 80 to 200 ppm."
    )
    contact = QuantityField(
        kind=Kind.TIME, label="Contact time", required=False, minimum=Decimal(1)
    )
    coldest = QuantityField(kind=Kind.TEMPERATURE, label="Not colder than", required=False)
    hottest = QuantityField(kind=Kind.TEMPERATURE, label="Not hotter than", required=False)
    needs_rinse = forms.NullBooleanField(
        label="The label asks for a rinse after it",
        widget=forms.Select(
            choices=[("unknown", "Nobody has read it"), ("true", "Yes"), ("false", "No")]
        ),
    )
    strip = forms.CharField(
        label="Blocks on the test strip's chart",
        required=False,
        max_length=80,
        help_text="In ppm, from weak to strong: 0, 50, 100, 200. They become buttons.",
    )

    class Meta:
        model = Chemical
        fields = (
            "name",
            "supplier",
            "chemistry",
            "active",
            "label_ph_at_most",
            "label_hardness_at_most_mg_per_l",
            "needs_rinse",
        )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("The product", "name", "supplier", "chemistry", "active", "stock"),
            Part(
                "What the label says",
                "in_use",
                "contact",
                SideBySide("coldest", "hottest"),
                SideBySide("label_ph_at_most", "label_hardness_at_most_mg_per_l"),
                "needs_rinse",
                sentence="Copy it from the container. What is left out is asked for later.",
            ),
            Part("Testing it", "strip"),
            act="Put the chemical on the list",
        )

    def clean_strip(self) -> list[str]:
        """Return the blocks in rising order, as text."""
        parts = [part.strip() for part in self.cleaned_data["strip"].split(",") if part.strip()]
        if len(parts) > _MOST_BLOCKS or any(not _is_block(part) for part in parts):
            typed = self.cleaned_data["strip"]
            raise ValidationError(f'"{typed}" is no row of blocks. Write them so: 0, 50, 100, 200.')
        return sorted(parts, key=Decimal)

    def facts(self) -> dict[str, Any]:
        """Return what was typed, as the service takes it."""
        values = {name: self.cleaned_data[name] for name in self.Meta.fields}
        contact, coldest, hottest = (
            self.cleaned_data[name] for name in ("contact", "coldest", "hottest")
        )
        stock, in_use = self.cleaned_data["stock"], self.cleaned_data["in_use"]
        return {
            **values,
            "stock_mg_per_l": _tenth(stock.lowest) if stock else None,
            "label_at_least_mg_per_l": _tenth(in_use.lowest) if in_use else None,
            "label_at_most_mg_per_l": _upper(in_use),
            "label_contact_s": int(contact.value) if contact else None,
            "label_at_least_degc": _tenth(coldest.value) if coldest else None,
            "label_at_most_degc": _tenth(hottest.value) if hottest else None,
            "strip_blocks": self.cleaned_data["strip"],
        }


class BatchForm(forms.ModelForm):
    """One batch of a product."""

    class Meta:
        model = ChemicalBatch
        fields = ("batch", "expires_on", "does_not_expire")
        widgets = {"expires_on": forms.DateInput(attrs={"type": "date"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Put the batch into the cupboard")


def _is_block(text: str) -> bool:
    return text.replace(".", "", 1).isdecimal() and len(text) <= 8


def _tenth(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.1"))


def _upper(reading: Reading | None) -> Decimal | None:
    """Return the stronger end; a single figure is the least, and no most is on record."""
    if reading is None or reading.highest is None or reading.highest == reading.lowest:
        return None
    return _tenth(reading.highest)
