"""Which stretch of a log, and in which format."""

from datetime import datetime, time, timedelta
from typing import Any

from django import forms

from kegsafe.exports.formats import FORMATS, Format
from kegsafe.exports.logs.log import Period
from kegsafe.frame.field_words import speak_plainly
from kegsafe.frame.moment_fields import DayField
from kegsafe.venues.models import Venue


class TakeAwayForm(forms.Form):
    """Both days are included, and are days of the venue. Left out, the log has no end there."""

    since = DayField(label="From", required=False, help_text="Leave it out to begin at the first.")
    until = DayField(label="To", required=False, help_text="Leave it out to go on to the last.")
    format = forms.ChoiceField(
        choices=[(each.key, each.label) for each in FORMATS],
        widget=forms.RadioSelect,
        initial=FORMATS[0].key,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak_plainly(self)

    def clean(self) -> dict[str, Any]:
        """Refuse days the wrong way round: the file would be empty and seem complete."""
        cleaned = super().clean()
        since, until = cleaned.get("since"), cleaned.get("until")
        if since and until and until < since:
            self.add_error("until", f"This is before {since:%Y-%m-%d}. Change one of the two days.")
        return cleaned

    def period(self, venue: Venue) -> Period:
        """Return the stretch from the first midnight to the last."""
        since, until = self.cleaned_data["since"], self.cleaned_data["until"]
        return Period(
            since=datetime.combine(since, time.min, venue.zone) if since else None,
            until=(
                datetime.combine(until + timedelta(days=1), time.min, venue.zone) if until else None
            ),
        )

    def chosen(self) -> Format:
        """Return the format."""
        return next(each for each in FORMATS if each.key == self.cleaned_data["format"])
