"""What a form says of a field that is empty, too long or no choice, where the field says nothing.

Django's own sentences ("This field is required.") name neither what was wrong nor what would be
right. A field with words of its own keeps them.
"""

from django import forms
from django.core.exceptions import ValidationError

_EMPTY = "This is still empty, and it is needed."
_NOT_ON_THE_LIST = "That is not on the list, or no longer. Choose one that is."

# By the code of the error. Validators hold no words of their own, and models speak as Django does.
_LIMITS = {
    "blank": _EMPTY,
    "null": _EMPTY,
    "max_length": "This has %(show_value)d characters, and %(limit_value)d fit. Say it shorter.",
    "min_value": "This is too little. Write %(limit_value)s or more.",
    "max_value": "This is too much. Write %(limit_value)s or less.",
    "max_digits": "This number is too long: %(max)s digits fit. Look at its unit.",
    "max_whole_digits": "This number is too large: %(max)s digits fit before the point.",
    "max_decimal_places": "This has too many decimals: %(max)s fit.",
    "null_characters_not_allowed": (
        "A character that cannot be seen came along. Type it again instead of pasting it."
    ),
}
# By the code, for the first kind of field that fits.
_KINDS: dict[str, tuple[tuple[type[forms.Field], str], ...]] = {
    "required": (
        (forms.ChoiceField, "Choose one."),
        (forms.ModelChoiceField, "Choose one."),
        (forms.FileField, "Choose a file first."),
        (forms.Field, _EMPTY),
    ),
    "invalid_choice": ((forms.Field, _NOT_ON_THE_LIST),),
    "invalid": (
        (forms.DecimalField, "This is no number. Write one such as 4.5."),
        (forms.IntegerField, "This is no whole number. Write one such as 3."),
        (forms.DateField, "This is no date. Write year-month-day, such as 2026-04-07."),
    ),
}


def speak_plainly(form: forms.BaseForm) -> None:
    """Give every field of a form the sentences above, unless it brings its own."""
    for field in form.fields.values():
        _teach(field)


def said_plainly(refused: ValidationError) -> list[str]:
    """Return the sentences of an error, in the words above where a model found it."""
    sentences = []
    for error in refused.error_list:
        words = _LIMITS.get(error.code, "")
        sentences.extend([words % (error.params or {})] if words else error.messages)
    return sentences


def _teach(field: forms.Field) -> None:
    for part in getattr(field, "fields", ()):
        _teach(part)
    for code, words in _LIMITS.items():
        field.error_messages.setdefault(code, words)
    for code, kinds in _KINDS.items():
        words = next((said for kind, said in kinds if isinstance(field, kind)), None)
        if words and _is_djangos(field, code):
            field.error_messages[code] = words


def _is_djangos(field: forms.Field, code: str) -> bool:
    said = field.error_messages.get(code)
    return said is not None and any(
        vars(kind).get("default_error_messages", {}).get(code) == said
        for kind in type(field).__mro__
        if kind.__module__.startswith("django.")
    )
