"""What to look for in the cleaning log."""

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from typing import Any

from django import forms
from django.db.models import Model
from django.http import QueryDict

from kegsafe.cleaning.models import Cycle
from kegsafe.cleaning.queries import piece_key, pieces_of
from kegsafe.cleaning.queries.log import NOTED
from kegsafe.equipment.models import Place
from kegsafe.venues.models import Venue


def _day(label: str) -> forms.DateField:
    return forms.DateField(
        label=label, required=False, widget=forms.DateInput(attrs={"type": "date"})
    )


_RESULTS = [("", "All"), *Cycle.Result.choices, (NOTED, "Noted without a plan")]


class FindCycleForm(forms.Form):
    """Time, place, equipment, person and result; what cannot be read is told at its field."""

    piece = forms.ChoiceField(label="Equipment", required=False)
    place = forms.ChoiceField(label="Place", required=False)
    person = forms.CharField(label="By", required=False, max_length=150)
    result = forms.ChoiceField(label="Result", required=False, choices=_RESULTS)
    since = _day("From")
    until = _day("To")

    def __init__(
        self, *args: Any, pieces: Sequence[Model], places: Sequence[Place], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        named = [(piece_key(piece), str(piece)) for piece in pieces]
        self.fields["piece"].choices = [("", "All"), *named]
        self.fields["place"].choices = [("", "All"), *((str(p.pk), p.name) for p in places)]

    def criteria(self, venue: Venue) -> dict[str, Any]:
        """Return the words of `log_page`; days are those of the venue, both included."""
        self.is_valid()
        values = self.cleaned_data
        since, until = values.get("since"), values.get("until")
        begins = datetime.combine(since, time.min, venue.zone) if since else None
        ends = datetime.combine(until + timedelta(days=1), time.min, venue.zone) if until else None
        return {
            "piece": values.get("piece", ""),
            "place": int(values["place"]) if values.get("place") else None,
            "person": values.get("person", ""),
            "result": values.get("result", ""),
            "since": begins,
            "until": ends,
        }


def find_cycle_form(words: QueryDict, venue: Venue) -> FindCycleForm:
    """Return what is looked for in a venue's log, read from an address."""
    places = list(Place.objects.filter(venue=venue).order_by("name"))
    return FindCycleForm(words, pieces=pieces_of(venue), places=places)
