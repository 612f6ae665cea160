"""Which days, which sections and which paper a pack is to have."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import DayField
from kegsafe.inspection.models import PaperSize
from kegsafe.inspection.sections import CHOICES
from kegsafe.inspection.services import check_period
from kegsafe.venues.models import Units, Venue

_USUAL = timedelta(days=29)


class PackForm(forms.Form):
    """A pack to make: the last thirty days with everything, unless something else is said."""

    first = DayField(label="First day")
    last = DayField(label="Last day")
    sections = forms.MultipleChoiceField(
        label="What is in it",
        choices=CHOICES,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose one section or more."},
        help_text="The summary, the cautions and how to check the pack are always in it.",
    )
    paper = forms.ChoiceField(label="Paper", choices=PaperSize)

    def __init__(self, *args: Any, venue: Venue, today: date, **kwargs: Any) -> None:
        initial = {
            "first": today - _USUAL,
            "last": today,
            "sections": [key for key, _ in CHOICES],
            "paper": PaperSize.LETTER if venue.units == Units.US else PaperSize.A4,
        }
        super().__init__(*args, initial=initial, **kwargs)
        self._today = today
        self.helper = PageFormHelper(
            self,
            Part(
                "Days",
                SideBySide("first", "last"),
                sentence="Both days are in it, by the venue's clock.",
            ),
            Part("Sections", "sections"),
            Part("Paper", "paper"),
            act="Make the pack",
        )

    def clean(self) -> dict[str, Any]:
        """Refuse a period that is none."""
        cleaned = super().clean()
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last:
            try:
                check_period(first, last, self._today)
            except ValidationError as refused:
                self.add_error(None, refused)
        return cleaned
