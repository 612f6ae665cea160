"""Narrowing the list of what is due."""

from collections.abc import Sequence
from typing import Any

from django import forms

from kegsafe.cleaning.queries import DuePiece
from kegsafe.rules.cleaning.vocabulary import Equipment


class FindDueForm(forms.Form):
    """Which pieces to show."""

    kind = forms.ChoiceField(label="Kind", required=False)
    place = forms.ChoiceField(label="Place", required=False)

    def __init__(self, *args: Any, pieces: Sequence[DuePiece], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = {piece.equipment for piece in pieces}
        places = sorted({piece.place for piece in pieces if piece.place})
        named = [(kind.value, in_words(kind)) for kind in Equipment if kind in kinds]
        self.fields["kind"].choices = [("", "All"), *named]
        self.fields["place"].choices = [("", "All"), *((place, place) for place in places)]

    def fits(self, piece: DuePiece) -> bool:
        """Whether a piece is among those asked for; what cannot be read narrows nothing."""
        if not self.is_valid():
            return True
        kind, place = self.cleaned_data["kind"], self.cleaned_data["place"]
        return (not kind or piece.equipment == kind) and (not place or piece.place == place)


def in_words(kind: Equipment) -> str:
    """Return how a page names a kind of equipment: 'Drip tray'."""
    return kind.value.replace("_", " ").capitalize()
