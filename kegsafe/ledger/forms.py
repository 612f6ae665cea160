"""What every form that changes a record needs: a reason, what was seen, and errors in place."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from kegsafe.frame.field_words import said_plainly, speak_plainly
from kegsafe.ledger.models import Recorded
from kegsafe.ledger.queries import recorded_kinds
from kegsafe.ledger.services import StaleRecord, last_sequence


class ReasonForm(forms.Form):
    """Why something is done that somebody may ask about later."""

    reason = forms.CharField(
        max_length=200,
        help_text="A few words. They stay in the ledger.",
        error_messages={"required": "Say why: a few words are enough."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak_plainly(self)


class AmendForm(ReasonForm):
    """A change to a record, refused when somebody else changed it since it was shown.

    A subclass adds the fields that may change, named as the record's own.
    """

    seen = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, record: Recorded, **kwargs: Any) -> None:
        initial = {"seen": last_sequence(record), **self.shown(record)}
        super().__init__(*args, initial=initial, **kwargs)
        self.order_fields([name for name in self.fields if name != "reason"])

    def shown(self, record: Recorded) -> dict[str, Any]:
        """Return what the fields say first."""
        names = self.base_fields.keys() - AmendForm.base_fields.keys()
        return {name: getattr(record, name) for name in names}

    def clean(self) -> dict[str, Any]:
        """Refuse a form that changes nothing: nothing would be recorded, and it would seem so."""
        cleaned = super().clean()
        if not set(self.changed_data) - AmendForm.base_fields.keys():
            self.add_error(None, "Nothing is changed yet. Change what is wrong, then say why.")
        return cleaned

    def changes(self) -> dict[str, Any]:
        """Return the new values of the fields that say something new."""
        changed = set(self.changed_data) - AmendForm.base_fields.keys()
        return {name: self.cleaned_data[name] for name in self.fields if name in changed}


@contextmanager
def errors_shown_in(form: forms.BaseForm) -> Iterator[None]:
    """Turn what a service refuses into errors of the form, at their fields where it has them."""
    try:
        yield
    except StaleRecord as stale:
        form.add_error(None, str(stale))
    except ValidationError as refused:
        for field, messages in _by_field(refused).items():
            form.add_error(field if field in form.fields else None, messages)


def _by_field(refused: ValidationError) -> dict[str, list[str]]:
    by_field = getattr(refused, "error_dict", {NON_FIELD_ERRORS: refused})
    return {field: said_plainly(ValidationError(errors)) for field, errors in by_field.items()}


class FindEntryForm(forms.Form):
    """Which entries of the ledger to show."""

    person = forms.CharField(label="By", required=False, max_length=150)
    action = forms.CharField(label="What happened", required=False, max_length=80)
    kind = forms.ChoiceField(label="To what", required=False)
    subject = forms.CharField(required=False, max_length=120, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = [(label, name.capitalize()) for label, name in recorded_kinds()]
        self.fields["kind"].choices = [("", "Everything"), *named]

    def criteria(self) -> dict[str, str]:
        """Return the words of `newest_lines`; what cannot be read narrows nothing."""
        return dict(self.cleaned_data) if self.is_valid() else {}
