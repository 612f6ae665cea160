"""Chemicals as their labels read, and batches in the cupboard."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from kegsafe.cleaning.forms.reading_fields import StrengthField
from kegsafe.cleaning.models import Chemical, ChemicalBatch
from kegsafe.frame.documents import DocumentField
from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import DayField
from kegsafe.frame.quantity_fields import QuantityField, as_typed
from kegsafe.ledger.forms import AmendForm
from kegsafe.quantities import Kind
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.cleaning.vocabulary import Chemistry

_MOST_BLOCKS = 12
_TEMPERATURES = {"coldest": "label_at_least_degc", "hottest": "label_at_most_degc"}


class ChemicalFields(forms.Form):
    """One product: who sells it, what it is, what the label says. Left out is not recorded."""

    name = forms.CharField(max_length=80)
    supplier = forms.CharField(max_length=120, required=False)
    chemistry = forms.ChoiceField(choices=Chemical.CHEMISTRIES)
    active = forms.ChoiceField(
        label="What sanitises in it",
        choices=[("", "Nothing: it is no sanitiser"), *Chemical.ACTIVES],
        required=False,
    )
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
    label_ph_at_most = forms.DecimalField(
        label="Highest pH", required=False, min_value=0, max_value=14, decimal_places=2
    )
    label_hardness_at_most_mg_per_l = forms.DecimalField(
        label="Hardest water (mg/l)", required=False, min_value=0, max_digits=7, decimal_places=1
    )
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

    PARTS = (
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
    )

    def clean_strip(self) -> list[str]:
        """Return the blocks in rising order, as text."""
        parts = [part.strip() for part in self.cleaned_data["strip"].split(",") if part.strip()]
        if len(parts) > _MOST_BLOCKS or any(not _is_block(part) for part in parts):
            typed = self.cleaned_data["strip"]
            raise ValidationError(f'"{typed}" is no row of blocks. Write them so: 0, 50, 100, 200.')
        return sorted(parts, key=Decimal)

    def clean(self) -> dict[str, Any]:
        """A sanitiser says what sanitises in it."""
        cleaned = super().clean()
        if cleaned.get("chemistry") == Chemistry.SANITISER and not cleaned.get("active"):
            self.add_error("active", "Choose what sanitises in it, as the label says.")
        return cleaned

    def facts(self) -> dict[str, Any]:
        """Return what was typed, as the service takes it."""
        return {name: value for field in self.fields for name, value in self._facts_of(field)}

    def _facts_of(self, field: str) -> Iterator[tuple[str, Any]]:
        """Yield what one field says of the record."""
        value = self.cleaned_data.get(field)
        if field == "stock":
            yield "stock_mg_per_l", _tenth(value.lowest) if value else None
        elif field == "in_use":
            yield "label_at_least_mg_per_l", _tenth(value.lowest) if value else None
            yield "label_at_most_mg_per_l", _upper(value)
        elif field == "contact":
            yield "label_contact_s", int(value.value) if value else None
        elif field in _TEMPERATURES:
            yield _TEMPERATURES[field], _tenth(value.value) if value else None
        elif field == "strip":
            yield "strip_blocks", value
        elif field not in AmendForm.base_fields:
            yield field, value


class ChemicalForm(ChemicalFields):
    """A product to put on the list."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, *self.PARTS, act="Put the chemical on the list")


class ChemicalAmendForm(AmendForm, ChemicalFields):
    """A product to amend, or to take off the list."""

    is_listed = forms.BooleanField(
        label="On the list",
        required=False,
        help_text="Not ticked: a cycle with it cannot pass any more.",
    )

    def __init__(self, *args: Any, record: Chemical, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        change = Part("The change", "is_listed", "reason", "seen")
        self.helper = PageFormHelper(self, *self.PARTS, change, act="Amend the chemical")

    def shown(self, record: Chemical) -> dict[str, Any]:
        """Return the product's values as somebody would type them."""
        units = record.venue.units
        contact = record.label_contact_s
        own = ("name", "supplier", "chemistry", "active", "needs_rinse", "is_listed")
        ends = ("label_ph_at_most", "label_hardness_at_most_mg_per_l")
        return {
            **{name: getattr(record, name) for name in (*own, *ends)},
            "stock": record.stock_words,
            "in_use": record.in_use_words,
            "contact": as_typed(contact and Decimal(contact), Kind.TIME, units),
            "coldest": as_typed(record.label_at_least_degc, Kind.TEMPERATURE, units),
            "hottest": as_typed(record.label_at_most_degc, Kind.TEMPERATURE, units),
            "strip": ", ".join(record.strip_blocks),
        }

    def changes(self) -> dict[str, Any]:
        """Return what the fields that were changed say of the record."""
        changed = set(self.changed_data)
        return {n: value for f in self.fields if f in changed for n, value in self._facts_of(f)}


class BatchFields(forms.Form):
    """One batch of a product."""

    batch = forms.CharField(max_length=60, help_text="As it is printed on the container.")
    expires_on = DayField(label="Expires on", required=False)
    does_not_expire = forms.BooleanField(label="The label gives no expiry", required=False)


class BatchForm(BatchFields):
    """A batch to put into the cupboard."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Put the batch into the cupboard")


class BatchAmendForm(AmendForm, BatchFields):
    """A batch to amend, or to take out of the cupboard."""

    is_finished = forms.BooleanField(label="Used up or thrown away", required=False)

    def __init__(self, *args: Any, record: ChemicalBatch, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.helper = PageFormHelper(self, act="Amend the batch")


class DataSheetForm(forms.Form):
    """A safety data sheet to keep."""

    file = DocumentField(label="Safety data sheet")
    revised_on = DayField(
        label="Date on the sheet", required=False, help_text="When its supplier last revised it."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Keep the data sheet")
        # A file cannot be put back into a form, so no draft of it is kept.
        del self.helper.attrs["data-keeps-draft"]


def _is_block(text: str) -> bool:
    return text.replace(".", "", 1).isdecimal() and len(text) <= 8


def _tenth(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.1"))


def _upper(reading: Reading | None) -> Decimal | None:
    """Return the stronger end; a single figure is the least, and no most is on record."""
    if reading is None or reading.highest is None or reading.highest == reading.lowest:
        return None
    return _tenth(reading.highest)
