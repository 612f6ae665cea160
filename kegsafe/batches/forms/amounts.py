"""An amount of something: read in the kind it is counted in, as an ounce may be of either kind."""

from typing import Any

from django import forms

from kegsafe.quantities import Quantity, UnreadableQuantity, read
from kegsafe.stock.services.drawing import KIND_OF


class AmountField(forms.CharField):
    """What was typed for an amount. Which kind it is, only the thing it is an amount of can say."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=60, **kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """A text keyboard, as units need letters."""
        attrs = {"inputmode": "text", "autocomplete": "off", "autocapitalize": "off"}
        return {**super().widget_attrs(widget), **attrs, "spellcheck": "false"}


def read_amount(form: forms.Form, field: str, measure: str) -> Quantity | None:
    """Return the amount typed in a field of a form being cleaned, counted by `measure`.

    None, with the trouble shown at the field, where it is not readable or is nothing.
    """
    typed = form.cleaned_data[field]
    try:
        amount = read(typed, KIND_OF[measure])
    except UnreadableQuantity as trouble:
        form.add_error(field, str(trouble))
        return None
    if not amount.value:
        form.add_error(
            field, f'"{typed}" is nothing. Write an amount above nothing, or leave the line out.'
        )
        return None
    return amount
