"""Forms for filling a keg, tapping it, and what happens to a fill."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import HTML
from django import forms

from kegsafe.batches.forms.recipes import as_typed
from kegsafe.batches.models import Batch
from kegsafe.equipment.models import Keg, Tap
from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.ledger.forms import ReasonForm
from kegsafe.quantities import Kind
from kegsafe.stock.forms.fields import value_of

_LOOK_FIRST = (
    '<p><button class="btn btn-secondary big-button" type="submit" name="look" value="yes">'
    "Look first</button></p>"
)


class FillForm(forms.Form):
    """Part of a batch into a keg."""

    keg = forms.ModelChoiceField(Keg.objects.none(), empty_label="Choose one")
    volume_ml = QuantityField(kind=Kind.VOLUME, label="Volume", help_text="18 L or 4 3/4 gal.")
    liquid_temperature_degc = QuantityField(
        kind=Kind.TEMPERATURE,
        label="Temperature of the drink",
        help_text="Read in the drink, not in the room: 2 °C or 36 °F.",
    )
    set_gauge_pa = QuantityField(
        kind=Kind.GAUGE_PRESSURE,
        label="Pressure set, gauge",
        minimum=Decimal(0),
        help_text="As the regulator reads: 2.5 bar or 36 psi.",
    )
    gas_cycles = forms.IntegerField(
        label="Carbonation cycles", min_value=1, max_value=20, initial=1
    )
    rest_hours = forms.IntegerField(label="Rest, in hours", min_value=0, max_value=240)
    filled_at = PastMomentField(label="Filled")
    place = forms.ModelChoiceField(None, label="Put where", required=False, empty_label="Not said")
    accept_cross_contact = forms.BooleanField(
        label="Declare as 'may contain' what the last drink left",
        required=False,
        help_text="Only where the keg had no verified allergen clean. Your name stands under it.",
    )

    def __init__(self, *args: Any, batch: Batch, kegs: Any, **kwargs: Any) -> None:
        recipe, units = batch.recipe, batch.venue.units
        initial = {
            "set_gauge_pa": as_typed(recipe.set_gauge_pa, Kind.GAUGE_PRESSURE, units),
            "rest_hours": recipe.rest_hours,
            **kwargs.pop("initial", {}),
        }
        super().__init__(*args, initial=initial, **kwargs)
        self.fields["keg"].queryset = kegs
        self.fields["place"].queryset = batch.venue.places.filter(is_active=True)
        self.helper = PageFormHelper(
            self,
            Part("The keg", SideBySide("keg", "volume_ml"), "place"),
            Part(
                "Gas",
                SideBySide("set_gauge_pa", "liquid_temperature_degc"),
                SideBySide("gas_cycles", "rest_hours"),
            ),
            Part("When", "filled_at"),
            Part("Allergens of the last drink", "accept_cross_contact"),
            HTML(_LOOK_FIRST),
            act="Fill the keg",
        )

    def record_values(self) -> dict[str, Any]:
        """Return the fill by the service's names, without when it was filled."""
        typed = self.cleaned_data
        names = ("keg", "gas_cycles", "rest_hours", "place", "accept_cross_contact")
        measured = ("volume_ml", "liquid_temperature_degc", "set_gauge_pa")
        return {
            **{name: typed[name] for name in names},
            **{name: value_of(typed[name]) for name in measured},
        }


class TapForm(forms.Form):
    """Which tap a keg goes on."""

    tap = forms.ModelChoiceField(Tap.objects.none(), empty_label="Choose one")
    at = PastMomentField(label="Tapped")
    accept_line = forms.BooleanField(
        label="The line goes on as it is",
        required=False,
        help_text="Only where it was not cleaned since its last drink. Your name stands under it, "
        "and the pour check asks the manager.",
    )

    def __init__(self, *args: Any, taps: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tap"].queryset = taps
        self.helper = PageFormHelper(self, "tap", "at", "accept_line", act="Tap the keg")


class MomentForm(forms.Form):
    """When it was done: now, unless said otherwise."""

    at = PastMomentField(label="When")


class DiscardForm(ReasonForm):
    """When and why a drink is thrown away."""

    at = PastMomentField(label="When")
