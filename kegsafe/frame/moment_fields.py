"""The form field for when something was done: now, unless another time is given."""

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError


class PastMomentField(forms.DateTimeField):
    """A moment in the venue's zone. Empty gives None and means now: nobody types the usual case.

    Error codes: `invalid`, and `clock_change` for an hour that comes twice or
    not at all in the night the clocks change.
    """

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    default_error_messages = {
        "invalid": "This is no date and time. Write one such as 2026-04-07 18:30, or leave it out."
    }

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Leave it out for now.")
        super().__init__(required=False, **kwargs)

    def to_python(self, value: Any) -> datetime | None:
        """The moment; the zone's own trouble is told in words a bar understands."""
        try:
            return super().to_python(value)
        except ValidationError as error:
            if error.code != "ambiguous_timezone":
                raise
            sentence = (
                f'"{value}" comes twice or not at all in the night the clocks change. '
                "Give the nearest time outside that hour."
            )
            raise ValidationError(sentence, code="clock_change") from None

    def has_changed(self, initial: datetime | None, data: Any) -> bool:
        """Whether the text differs from what was shown: the seconds nobody sees do not count."""
        shown = self.widget.format_value(self.prepare_value(initial)) if initial else ""
        return (data or "") != shown
