"""The forms of a decision about time that nobody read: of one place, and of many."""

from collections.abc import Sequence
from typing import Any

from django import forms

from kegsafe.cold_chain.models import GapDecision, Thermometer
from kegsafe.cold_chain.services import PlaceAsked
from kegsafe.cold_chain.temperature_field import TemperatureField
from kegsafe.equipment.models import Place
from kegsafe.frame.field_words import speak_plainly
from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.quantities import UnitSystem


class DecisionForm(forms.Form):
    """What a manager found and decided, and the thermometer."""

    found = forms.CharField(
        label="What was found",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What speaks for or against the cold: the power, the door, the display, ice.",
    )
    thermometer = forms.ModelChoiceField(
        label="Measured with",
        queryset=Thermometer.objects.none(),
        required=False,
        empty_label="Not measured",
    )
    counts = forms.ChoiceField(
        label="What this time counts as",
        choices=GapDecision.Counts,
        widget=forms.RadioSelect,
        help_text="Cold needs a drink measured cold. What counts as above the limit is added to "
        "the time above it.",
    )

    def __init__(self, *args: Any, venue: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["thermometer"].queryset = Thermometer.objects.filter(
            venue=venue, is_active=True
        )


class GapForm(DecisionForm):
    """What a manager found, measured and decided of one stretch of one place."""

    def __init__(self, *args: Any, place: Place, units: UnitSystem, **kwargs: Any) -> None:
        super().__init__(*args, venue=place.venue_id, **kwargs)
        self.fields["measured_degc"] = TemperatureField(
            name="the drink",
            units=units,
            label="The drink measured",
            required=False,
            help_text="The warmest keg that stood there: the one nearest to the door.",
        )
        self.helper = PageFormHelper(
            self,
            Part("What you found", "found", "measured_degc", "thermometer"),
            Part("What you decide", "counts"),
            act="Record the decision",
        )

    def values(self) -> dict[str, Any]:
        """Return what was typed, as the service takes it."""
        typed = self.cleaned_data
        measured = typed["measured_degc"]
        return {
            "found": typed["found"],
            "counts": typed["counts"],
            "thermometer": typed["thermometer"],
            "measured_degc": None if measured is None else measured.value,
        }


class TogetherForm(DecisionForm):
    """One decision about all ticked places, with a drink measured in each."""

    ticked = forms.MultipleChoiceField(required=False)

    def __init__(
        self, *args: Any, venue: int, places: Sequence[Place], units: UnitSystem, **kwargs: Any
    ) -> None:
        super().__init__(*args, venue=venue, **kwargs)
        self._places = {str(place.pk): place for place in places}
        self.fields["ticked"].choices = [(key, place.name) for key, place in self._places.items()]
        self.fields["found"].widget.attrs["rows"] = 2
        for key, place in self._places.items():
            self.fields[f"shown-{key}"] = forms.CharField(required=False, widget=forms.HiddenInput)
            self.fields[f"place-{key}"] = TemperatureField(
                name=f"the drink in {place.name}", units=units, label=place.name, required=False
            )
        speak_plainly(self)

    @property
    def ticks(self) -> set[str]:
        """Return the keys of the places that are ticked, as they were sent."""
        return set(self["ticked"].value() or ())

    def clean(self) -> dict[str, Any]:
        """Ask for one tick at least, and for the tick of each place with a temperature."""
        for key in self._places.keys() - self.ticks:
            if self.cleaned_data.get(f"place-{key}") is not None:
                self.add_error(
                    f"place-{key}",
                    "A temperature is typed and the place is not ticked. Tick it, or clear the "
                    "temperature.",
                )
        if not self.ticks and not self.errors:
            self.add_error(None, "No place is ticked yet. Tick each place you decide about.")
        return self.cleaned_data

    def values(self) -> dict[str, Any]:
        """Return what was typed, as the service takes it."""
        typed = self.cleaned_data
        measured = {key: typed[f"place-{key}"] for key in typed["ticked"]}
        return {
            "found": typed["found"],
            "counts": typed["counts"],
            "thermometer": typed["thermometer"],
            "asked": [
                PlaceAsked(
                    self._places[key],
                    typed[f"shown-{key}"],
                    None if drink is None else drink.value,
                )
                for key, drink in measured.items()
            ],
        }
