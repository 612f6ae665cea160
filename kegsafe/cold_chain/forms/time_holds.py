"""Forms of what is held by the clock."""

from collections.abc import Iterable
from typing import Any

from django import forms

from kegsafe.cold_chain.models import TimeHold
from kegsafe.cold_chain.temperature_field import TemperatureField
from kegsafe.frame.layout import PageFormHelper
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.quantities import UnitSystem
from kegsafe.rules.cold.time_control import Option


class BeginTimeHoldForm(forms.Form):
    """Something that leaves the cold to be held by the clock."""

    what = forms.CharField(
        label="What is held", max_length=120, help_text="Such as cream jug, station 1."
    )
    way = forms.ChoiceField(label="How long", widget=forms.RadioSelect)
    removed_at = PastMomentField(label="When it left the cold, or was cut or opened")
    procedure = forms.CharField(
        label="Written procedure",
        max_length=160,
        help_text="Which one, and where it is kept: the code asks for it beforehand.",
    )

    def __init__(
        self, *args: Any, options: Iterable[Option], units: UnitSystem, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["way"].choices = [
            (option.value, TimeHold.Way(option.value).label) for option in options
        ]
        self.fields["start_degc"] = TemperatureField(
            name="what is held", units=units, label="Its temperature then"
        )
        self.order_fields(["what", "way", "start_degc", "removed_at", "procedure"])
        self.helper = PageFormHelper(self, act="Begin, and show the mark")


class TimeHoldReadingForm(forms.Form):
    """One temperature of something held by time."""

    read_at = PastMomentField(label="When")

    def __init__(self, *args: Any, units: UnitSystem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["degc"] = TemperatureField(
            name="what is held", units=units, label="Temperature in its warmest part"
        )
        self.order_fields(["degc"])
        self.helper = PageFormHelper(self, act="Record the temperature")


class EndTimeHoldForm(forms.Form):
    """What became of something held by time."""

    ended_as = forms.ChoiceField(
        label="It was", choices=TimeHold.End.choices, widget=forms.RadioSelect
    )
    ended_at = PastMomentField(label="When")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Record what became of it")
