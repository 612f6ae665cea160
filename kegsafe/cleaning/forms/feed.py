"""Making a calendar address."""

from typing import Any

from django import forms

from kegsafe.frame.layout import PageFormHelper


class FeedForm(forms.Form):
    """Whose calendar it is, so that one can be revoked and not the others."""

    name = forms.CharField(label="Whose calendar", max_length=80)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Make an address")
