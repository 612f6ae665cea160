"""What was picked from the starter catalogue."""

from django import forms

from kegsafe.rules.catalogue import catalogue


def _keys() -> list[tuple[str, str]]:
    return [(entry.key, entry.name) for entry in catalogue()]


class PickForm(forms.Form):
    """The ingredients to take."""

    keys = forms.MultipleChoiceField(
        label="Ingredients",
        choices=_keys,
        error_messages={
            "required": "Nothing is picked. Tick at least one ingredient.",
            "invalid_choice": "That is not in the starter catalogue. Pick again.",
        },
    )
