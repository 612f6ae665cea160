"""Forms for suppliers, and the words to look for in any list of the stock room."""

from typing import Any

from django import forms

from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.ledger.forms import AmendForm


class FindForm(forms.Form):
    """The words to look for in a list."""

    q = forms.CharField(label="Look for", required=False, max_length=80)


class SupplierFields(forms.Form):
    """What is known about a supplier."""

    name = forms.CharField(max_length=120)
    contact = forms.CharField(
        max_length=160, required=False, help_text="Telephone or e-mail, for a recall at night."
    )
    address = forms.CharField(
        max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )


class SupplierForm(SupplierFields):
    """A supplier to add."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Add the supplier")


class SupplierAmendForm(AmendForm, SupplierFields):
    """A supplier to amend, or to take out of use."""

    is_active = forms.BooleanField(
        label="In use",
        required=False,
        help_text="Out of use: no new delivery is received from it, and all records stay.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("The supplier", "name", "contact", "address", "is_active"),
            Part("The change", "reason", "seen"),
            act="Amend the supplier",
        )
