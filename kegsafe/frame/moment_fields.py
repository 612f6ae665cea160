"""The form fields for days, and for when something was done: now, unless another time is given."""

from datetime import UTC, date, datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

# Every limit on file begins in 2014: what is dated before could not be judged. A year outside
# these two is a slip of the finger, 1026 for 2026.
EARLIEST = date(2015, 1, 1)
LATEST = date(2100, 1, 1)


class MomentField(forms.DateTimeField):
    """A moment in the venue's zone; None where it is left out.

    Error codes: `invalid`, `year` for one before 2015, and `clock_change` for an hour that
    comes twice or not at all in the night the clocks change.
    """

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    default_error_messages = {
        "invalid": "This is no date and time. Write one such as 2026-04-07 18:30, or leave it out."
    }

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, **kwargs)

    def to_python(self, value: Any) -> datetime | None:
        """The moment; the zone's own trouble is told in words a bar understands."""
        try:
            moment = super().to_python(value)
        except ValidationError as error:
            if error.code != "ambiguous_timezone":
                raise
            sentence = (
                f'"{value}" comes twice or not at all in the night the clocks change. '
                "Give the nearest time outside that hour."
            )
            raise ValidationError(sentence, code="clock_change") from None
        if moment is not None and moment.astimezone(UTC).date() < EARLIEST:
            raise _no_such_year(value)
        return moment

    def has_changed(self, initial: datetime | None, data: Any) -> bool:
        """Whether the text differs from what was shown: the seconds nobody sees do not count."""
        shown = self.widget.format_value(self.prepare_value(initial)) if initial else ""
        return (data or "") != shown


class PastMomentField(MomentField):
    """When something was done. None means now: nobody types the usual case."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Leave it out for now.")
        super().__init__(**kwargs)


class DayInput(forms.DateInput):
    """A date chosen on the device; sent and shown as year-month-day."""

    input_type = "date"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%d", **kwargs)


class DayField(forms.DateField):
    """A date, written year-month-day and in no other order, from 2015 to 2099.

    Error codes: `invalid` and `year`.
    """

    widget = DayInput
    default_error_messages = {
        "invalid": "This is no date. Write year-month-day, such as 2026-04-07."
    }

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)

    def to_python(self, value: Any) -> date | None:
        """The day; a year that no pack and no paper bears is refused."""
        day = super().to_python(value)
        if day is not None and not EARLIEST <= day < LATEST:
            raise _no_such_year(value)
        return day


def _no_such_year(typed: object) -> ValidationError:
    sentence = f'"{typed}" has a year that cannot be right here. Look at it again, such as 2026.'
    return ValidationError(sentence, code="year")
