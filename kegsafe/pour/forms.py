"""Which of the drinks that stood too warm are put on hold."""

from collections.abc import Sequence
from typing import Any

from django import forms

from kegsafe.pour.warm_drinks import WarmDrink


class HoldWarmForm(forms.Form):
    """The kegs to hold: all of them, unless somebody takes one out."""

    kegs = forms.TypedMultipleChoiceField(
        label="Put on hold",
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Tick at least one keg to hold.",
            "invalid_choice": "One of these kegs did not stand there, or is on hold already.",
        },
    )

    def __init__(self, *args: Any, drinks: Sequence[WarmDrink], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = [drink.view.row for drink in drinks]
        self.fields["kegs"].choices = [
            (row["fill_id"], f"Keg {row['name']}: {row['drink']}") for row in rows
        ]
        self.fields["kegs"].initial = [row["fill_id"] for row in rows]
