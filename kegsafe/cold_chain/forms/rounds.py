"""Forms for the temperature round, for amending a reading and for finding one."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField

from kegsafe.cold_chain.models import Reading
from kegsafe.cold_chain.temperature_field import UNITS, TemperatureField
from kegsafe.equipment.models import Place
from kegsafe.frame.field_words import speak_plainly
from kegsafe.frame.layout import PageFormHelper
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.ledger.forms import AmendForm
from kegsafe.quantities import Kind, Quantity, UnitSystem, write

# Outside these a unit was probably mixed up: 36 °F typed as °C, 3 °C typed as °F.
# Common practice, no source.
USUAL_DEGC = (Decimal(-8), Decimal(25))
USUAL_IN_A_FREEZER_DEGC = (Decimal(-40), Decimal(10))


class RoundForm(forms.Form):
    """One temperature for each place; a place that was not read is left out."""

    read_at = PastMomentField(label="When")
    is_sure = forms.BooleanField(label="I looked twice: number and unit are right", required=False)

    def __init__(
        self, *args: Any, places: Sequence[Place], units: UnitSystem, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self._units: UnitSystem = units
        self._places = {f"place-{place.pk}": place for place in places}
        self.asks_twice = False
        for key, place in self._places.items():
            self.fields[key] = TemperatureField(
                name=place.name, units=units, label=place.name, required=False
            )
        speak_plainly(self)

    def rows(self) -> Iterator[tuple[Place, BoundField]]:
        """Yield each place with its field."""
        for key, place in self._places.items():
            yield place, self[key]

    def clean(self) -> dict[str, Any]:
        """Ask for one temperature at least, and for a second look at an unusual one."""
        typed = {key: self.cleaned_data.get(key) for key in self._places}
        for key, quantity in typed.items():
            if quantity and not _is_usual(self._places[key], quantity):
                self._ask_twice(key, quantity)
        if not any(typed.values()) and not self.errors:
            self.add_error(None, "No temperature is typed yet. Type at least one: 3.2 or 38 F.")
        return self.cleaned_data

    def readings(self) -> dict[Place, Decimal]:
        """Return the temperatures that were typed, in °C."""
        return {
            place: self.cleaned_data[key].value
            for key, place in self._places.items()
            if self.cleaned_data[key] is not None
        }

    def _ask_twice(self, key: str, quantity: Quantity) -> None:
        self.asks_twice = True
        if self.cleaned_data.get("is_sure"):
            return
        shown = write(quantity.value, Kind.TEMPERATURE, self._units, both=True)
        self.add_error(
            key,
            f"{shown} is unusual for {self._places[key]}. Look at the unit of the thermometer. "
            "If it is right, tick below that you looked twice.",
        )


class ReadingAmendForm(AmendForm):
    """A change to a reading."""

    read_at = PastMomentField(label="When", help_text="")
    note = forms.CharField(max_length=200, required=False)

    def __init__(self, *args: Any, record: Reading, units: UnitSystem, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.fields["temperature"] = TemperatureField(
            name=record.place.name,
            units=units,
            initial=[f"{record.temperature_degc.normalize():f}", UNITS[0]],
        )
        self.fields["read_at"].required = True
        self.order_fields(["temperature", "read_at", "note", "reason", "seen"])
        self.helper = PageFormHelper(self, act="Amend the reading")

    def changes(self) -> dict[str, Any]:
        """Return the new values by the record's names."""
        changes = super().changes()
        if "temperature" in changes:
            changes["temperature_degc"] = changes.pop("temperature").value
        return changes


class FindReadingForm(forms.Form):
    """Which readings to show."""

    place = forms.ModelChoiceField(queryset=Place.objects.none(), required=False, empty_label="All")
    q = forms.CharField(label="By, or in the note", required=False, max_length=80)

    def __init__(self, *args: Any, places: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"].queryset = places

    def criteria(self) -> dict[str, Any]:
        """Return the words of `readings`; what cannot be read narrows nothing."""
        if not self.is_valid():
            return {}
        place = self.cleaned_data["place"]
        return {"place": place and place.pk, "query": self.cleaned_data["q"]}


def _is_usual(place: Place, quantity: Quantity) -> bool:
    coldest, warmest = USUAL_IN_A_FREEZER_DEGC if place.kind == Place.Kind.FREEZER else USUAL_DEGC
    return coldest <= quantity.value <= warmest
