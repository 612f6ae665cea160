"""Equipment that is cleaned besides kegs, lines and taps; and what each of those carries."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import Model, QuerySet

from kegsafe.cleaning.models import CleanItem, DrinkCarried
from kegsafe.cleaning.queries import piece_key
from kegsafe.equipment.models import Place
from kegsafe.frame.layout import PageFormHelper
from kegsafe.ledger.forms import AmendForm


class ItemFields(forms.Form):
    """One piece."""

    name = forms.CharField(max_length=60)
    kind = forms.ChoiceField(choices=CleanItem.Kind.choices)
    place = forms.ModelChoiceField(
        Place.objects.none(), required=False, empty_label="No place recorded"
    )
    drink_kind = forms.ChoiceField(
        label="Drink it touches", choices=CleanItem._meta.get_field("drink_kind").choices
    )


class ItemForm(ItemFields):
    """A piece to add."""

    def __init__(self, *args: Any, places: QuerySet[Place], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"].queryset = places
        self.helper = PageFormHelper(self, act="Add the piece")


class ItemAmendForm(AmendForm, ItemFields):
    """A piece to amend, or to put away."""

    is_active = forms.BooleanField(
        label="In use", required=False, help_text="Not ticked: nothing is due for it any more."
    )

    def __init__(
        self, *args: Any, record: CleanItem, places: QuerySet[Place], **kwargs: Any
    ) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.fields["place"].queryset = places
        self.helper = PageFormHelper(self, act="Amend the piece")


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
