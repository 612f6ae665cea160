"""Choosing what is cleaned, and under which plan."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import Model

from kegsafe.cleaning.models import CleaningPlan
from kegsafe.cleaning.queries import piece_key
from kegsafe.frame.layout import FieldsHelper


class PiecesForm(forms.Form):
    """Which pieces go through the cycle together."""

    pieces = forms.MultipleChoiceField(
        label="What is cleaned",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Tick what is cleaned: at least one.",
            "invalid_choice": "One of these is not on the list any more. Look at it again.",
        },
    )

    def __init__(self, *args: Any, of: Sequence[Model], chosen: Sequence[str], **kwargs: Any):
        self.by_key = {piece_key(piece): piece for piece in of}
        known = [key for key in chosen if key in self.by_key]
        super().__init__(*args, initial={"pieces": known}, **kwargs)
        # What was scanned stands on top: nobody looks for it among eighteen kegs.
        keys = sorted(self.by_key, key=lambda key: key not in known)
        self.fields["pieces"].choices = [(key, str(self.by_key[key])) for key in keys]
        self.helper = FieldsHelper(self, "pieces")

    def chosen(self) -> list[Model]:
        """Return the pieces themselves."""
        return [self.by_key[key] for key in self.cleaned_data["pieces"]]


class FindPlanForm(forms.Form):
    """Which plan the cycle follows."""

    plan = forms.ChoiceField(label="Plan", required=False)

    def __init__(self, *args: Any, plans: Sequence[CleaningPlan], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["plan"].choices = [(str(plan.pk), plan.name) for plan in plans]
