"""A link for an inspector, and a file to be checked."""

from typing import Any

from django import forms

from kegsafe.frame.layout import PageFormHelper
from kegsafe.inspection.services import LONGEST_DAYS


class LinkForm(forms.Form):
    """Who reads a pack without signing in, and for how long."""

    reader = forms.CharField(
        label="Who it is for",
        max_length=120,
        help_text="A name and an office. It stands in the ledger beside each opening.",
    )
    days = forms.IntegerField(
        label="Ends after, in days",
        min_value=1,
        max_value=LONGEST_DAYS,
        initial=7,
        help_text=f"From 1 to {LONGEST_DAYS}. It can be ended at once at any time.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Make the link")


class CheckForm(forms.Form):
    """A file that says it is a pack."""

    file = forms.FileField(label="The pack", help_text="The PDF as it was handed to you.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Check the file")
