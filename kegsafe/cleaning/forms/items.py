"""Equipment that is cleaned besides kegs, lines and taps; and what each of those carries."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import Model

from kegsafe.cleaning.models import CleanItem, DrinkCarried
from kegsafe.cleaning.queries import piece_key
from kegsafe.equipment.models import Place
from kegsafe.frame.layout import PageFormHelper


class ItemForm(forms.ModelForm):
    """One piece."""

    class Meta:
        model = CleanItem
        fields = ("name", "kind", "place", "drink_kind")

    def __init__(self, *args: Any, places: Sequence[Place], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"].queryset = places
        self.helper = PageFormHelper(self, act="Add the piece")


class DrinkCarriedForm(forms.Form):
    """What kind of drink a keg, a line or a tap carries: its plans follow from it."""

    pieces = forms.MultipleChoiceField(
        label="Kegs, lines and taps",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one."},
    )
    drink_kind = forms.ChoiceField(
        label="They carry", choices=DrinkCarried._meta.get_field("drink_kind").choices
    )

    def __init__(self, *args: Any, of: Sequence[Model], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_key = {piece_key(piece): piece for piece in of if not isinstance(piece, CleanItem)}
        self.fields["pieces"].choices = [(key, str(each)) for key, each in self.by_key.items()]
        self.helper = PageFormHelper(self, act="Record what they carry")
