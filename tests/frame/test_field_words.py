"""A form says what was wrong and what would be right, never what Django says to programmers."""

import pytest
from django import forms
from django.core.exceptions import ValidationError

from kegsafe.equipment.models import Keg
from kegsafe.frame.field_words import said_plainly
from kegsafe.frame.layout import FieldsHelper, PageFormHelper


class _Form(forms.Form):
    name = forms.CharField(max_length=5)
    place = forms.ChoiceField(choices=[("walk_in", "Walk-in")])
    items = forms.MultipleChoiceField(choices=[("keg-1", "K1")])
    file = forms.FileField()
    days = forms.IntegerField(min_value=1, max_value=10)
    value = forms.DecimalField(max_digits=4, decimal_places=2)
    on = forms.DateField()
    reason = forms.CharField(error_messages={"required": "Say why."})


def _errors(typed: dict[str, object], helper: type = FieldsHelper, **kwargs: str) -> dict[str, str]:
    form = _Form(typed)
    form.helper = helper(form, **kwargs)
    return {name: errors[0] for name, errors in form.errors.items()}


def test_an_empty_form_is_told_field_by_field_what_to_do():
    assert _errors({}) == {
        "name": "This is still empty, and it is needed.",
        "place": "Choose one.",
        "items": "Choose one.",
        "file": "Choose a file first.",
        "days": "This is still empty, and it is needed.",
        "value": "This is still empty, and it is needed.",
        "on": "This is still empty, and it is needed.",
        "reason": "Say why.",
    }


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("name", "a longer name", "This has 13 characters, and 5 fit. Say it shorter."),
        (
            "name",
            "a\0b",
            "A character that cannot be seen came along. Type it again instead of pasting it.",
        ),
        ("place", "attic", "That is not on the list, or no longer. Choose one that is."),
        ("items", ["keg-9"], "That is not on the list, or no longer. Choose one that is."),
        ("days", "three", "This is no whole number. Write one such as 3."),
        ("days", "0", "This is too little. Write 1 or more."),
        ("days", "11", "This is too much. Write 10 or less."),
        ("value", "four", "This is no number. Write one such as 4.5."),
        ("value", "1e308", "This number is too long: 4 digits fit. Look at its unit."),
        ("on", "7.4.26", "This is no date. Write year-month-day, such as 2026-04-07."),
    ],
)
def test_a_field_says_what_would_be_right(field, typed, sentence):
    assert _errors({field: typed}, PageFormHelper, act="Record it")[field] == sentence


def test_what_a_model_refuses_is_told_in_the_same_words():
    keg = Keg(name="", capacity_ml=10**15)
    with pytest.raises(ValidationError) as refused:
        keg.clean_fields(exclude=["venue"])
    by_field = refused.value.error_dict
    assert said_plainly(ValidationError(by_field["name"])) == [
        "This is still empty, and it is needed."
    ]
    (sentence,) = said_plainly(ValidationError(by_field["capacity_ml"]))
    assert sentence.startswith("This number is too long")
