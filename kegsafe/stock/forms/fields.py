"""Fields the stock room needs: a record by its name, a number of the kind a column holds."""

from decimal import Decimal
from typing import Any

from django import forms

from kegsafe.frame.moment_fields import DayField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.quantities import Kind, Quantity
from kegsafe.stock.importing.names import NameBook, Named


class NameField(forms.CharField):
    """A record called by its name, chosen from the page's list or typed. Cleans to the record.

    `offered` is the id of the page's datalist with the names. Error codes:
    `required`, `unknown_name` (with the nearest names) and `out_of_use`.
    """

    def __init__(self, *, offered: str, **kwargs: Any) -> None:
        attrs = {"list": offered, "autocomplete": "off", "autocapitalize": "off"}
        super().__init__(max_length=120, widget=forms.TextInput(attrs=attrs), **kwargs)
        self.book: NameBook | None = None

    def clean(self, value: Any) -> Named | None:
        """The record of that name, None for an empty field that may be empty."""
        typed = super().clean(value)
        return self.book.find(typed) if typed and self.book else None


def day_field(**kwargs: Any) -> DayField:
    """Return a field for a date, written year-month-day and in no other order."""
    return DayField(**kwargs)


def measured_field(kind: Kind, label: str, **kwargs: Any) -> QuantityField:
    """Return a field for a measured value that may be left out."""
    return QuantityField(kind=kind, label=label, required=False, **kwargs)


def value_of(quantity: Quantity | None) -> Decimal | None:
    """Return the number in its base unit, None where nothing was typed."""
    return quantity.value if quantity else None


def quantity_of(value: Decimal | None, kind: Kind) -> Quantity | None:
    """Return a stored number as somebody would type it; None stays not known."""
    return None if value is None else Quantity(kind, value)
