"""The form of a decision about time that nobody read."""

from typing import Any

from django import forms

from kegsafe.cold_chain.models import GapDecision, Thermometer
from kegsafe.cold_chain.temperature_field import TemperatureField
from kegsafe.equipment.models import Place
from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.quantities import UnitSystem


class GapForm(forms.Form):
    """What a manager found, measured and decided."""

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

    def __init__(self, *args: Any, place: Place, units: UnitSystem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["measured_degc"] = TemperatureField(
            name="the drink",
            units=units,
            label="The drink measured",
            required=False,
            help_text="The warmest keg that stood there: the one nearest to the door.",
        )
        self.fields["thermometer"].queryset = Thermometer.objects.filter(
            venue=place.venue_id, is_active=True
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
