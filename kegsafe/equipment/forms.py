"""Forms for kegs, lines, taps and places."""

from decimal import Decimal
from typing import Any

from django import forms

from kegsafe.equipment.models import Keg, Line, Metal, Place, Service, Tap
from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.quantity_fields import QuantityField, as_typed
from kegsafe.ledger.forms import AmendForm, ReasonForm
from kegsafe.quantities import Kind, Quantity, in_unit
from kegsafe.venues.models import Venue

METAL_HELP = "Name copper, brass or bronze if any part that touches the drink is made of it."
BELOW_THE_GAS_ON_IT = (
    "A rating below the pressure that is set now, or left blank, is recorded as the plate says it, "
    "and the keg is not to be poured. Are you there? Shut the gas and relieve the keg first."
)
_A_TUN_ML = Decimal(1_000_000)


class FindForm(forms.Form):
    """The words to look for in a list."""

    q = forms.CharField(label="Look for", required=False, max_length=80)


class KegFields(forms.Form):
    """What is known about a keg."""

    name = forms.CharField(max_length=40, help_text="What is painted on it, such as K7.")
    capacity = QuantityField(
        kind=Kind.VOLUME,
        maximum=_A_TUN_ML,
        help_text="For example 19 L or 5 gal.",
    )
    rated_pressure = QuantityField(
        kind=Kind.GAUGE_PRESSURE,
        required=False,
        minimum=Decimal(1),
        help_text=(
            "Copied from the maker's plate, for example 9 bar or 130 psi. Left out: the keg is "
            "not allowed under pressure."
        ),
    )
    metal = forms.ChoiceField(
        label="Metals touching the drink",
        choices=Metal.choices,
        initial=Metal.NOT_KNOWN,
        help_text=METAL_HELP,
    )
    serial = forms.CharField(label="Serial number", max_length=60, required=False)

    PARTS = (
        Part("The keg", SideBySide("name", "capacity"), "metal", "serial"),
        Part(
            "The maker's plate",
            "rated_pressure",
            sentence="The plate decides. Where it cannot be read, a competent person decides.",
        ),
    )

    def record_values(self) -> dict[str, Any]:
        """Return the keg's values by the record's names, in its base units."""
        typed = self.cleaned_data
        return {
            "name": typed["name"],
            "capacity_ml": typed["capacity"].value,
            "rated_gauge_pa": _value(typed["rated_pressure"]),
            "metal": typed["metal"],
            "serial": typed["serial"],
        }


class KegForm(KegFields):
    """A keg to add."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, *self.PARTS, act="Add the keg")


class KegAmendForm(AmendForm, KegFields):
    """A keg to amend."""

    def __init__(self, *args: Any, record: Keg, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        change = Part("The change", "reason", "seen", sentence=BELOW_THE_GAS_ON_IT)
        self.helper = PageFormHelper(self, *self.PARTS, change, act="Amend the keg")

    def shown(self, record: Keg) -> dict[str, Any]:
        """Return the keg's values as somebody would type them."""
        units = record.venue.units
        return {
            "name": record.name,
            "capacity": as_typed(record.capacity_ml, Kind.VOLUME, units),
            "rated_pressure": as_typed(record.rated_gauge_pa, Kind.GAUGE_PRESSURE, units),
            "metal": record.metal,
            "serial": record.serial,
        }


class LineFields(forms.Form):
    """What is known about a line."""

    name = forms.CharField(max_length=40, help_text="What is written on it, such as L2.")
    inner_diameter = QuantityField(
        kind=Kind.LENGTH,
        required=False,
        minimum=Decimal("0.0005"),
        maximum=Decimal("0.1"),
        help_text="For example 4.8 mm or 3/16 in.",
    )
    length = QuantityField(
        kind=Kind.LENGTH,
        required=False,
        minimum=Decimal("0.01"),
        maximum=Decimal(1000),
        help_text="From coupler to tap, for example 3 m or 10 ft.",
    )
    metal = forms.ChoiceField(
        label="Metals touching the drink",
        choices=Metal.choices,
        initial=Metal.NOT_KNOWN,
        help_text=f"{METAL_HELP} Look at coupler, shank and tap too.",
    )

    PARTS = (Part("The line", "name", SideBySide("inner_diameter", "length"), "metal"),)

    def record_values(self) -> dict[str, Any]:
        """Return the line's values by the record's names, in its units."""
        typed = self.cleaned_data
        bore = typed["inner_diameter"]
        return {
            "name": typed["name"],
            "inner_diameter_mm": in_unit(bore, "mm") if bore else None,
            "length_m": _value(typed["length"]),
            "metal": typed["metal"],
        }


class LineForm(LineFields):
    """A line to add."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, *self.PARTS, act="Add the line")


class LineAmendForm(AmendForm, LineFields):
    """A line to amend."""

    def __init__(self, *args: Any, record: Line, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        change = Part("The change", "reason", "seen")
        self.helper = PageFormHelper(self, *self.PARTS, change, act="Amend the line")

    def shown(self, record: Line) -> dict[str, Any]:
        """Return the line's values as somebody would type them."""
        bore, units = record.inner_diameter_mm, record.venue.units
        return {
            "name": record.name,
            "inner_diameter": as_typed(bore and bore / 1000, Kind.LENGTH, units),
            "length": as_typed(record.length_m, Kind.LENGTH, units),
            "metal": record.metal,
        }


class TapFields(forms.Form):
    """What is known about a tap."""

    name = forms.CharField(max_length=40, help_text="What is written on it, such as 3.")
    line = forms.ModelChoiceField(
        queryset=Line.objects.none(), help_text="The line that ends in this tap."
    )

    def limit_to(self, venue: Venue) -> None:
        """Offer the lines of this venue only."""
        usable = Line.objects.filter(venue=venue).exclude(service=Service.SCRAPPED)
        self.fields["line"].queryset = usable

    def record_values(self) -> dict[str, Any]:
        """Return the tap's values by the record's names."""
        return {name: self.cleaned_data[name] for name in ("name", "line")}


class TapForm(TapFields):
    """A tap to add."""

    def __init__(self, *args: Any, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.limit_to(venue)
        self.helper = PageFormHelper(self, act="Add the tap")


class TapAmendForm(AmendForm, TapFields):
    """A tap to amend."""

    is_active = forms.BooleanField(label="In use", required=False)

    def __init__(self, *args: Any, record: Tap, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.limit_to(record.venue)
        self.helper = PageFormHelper(self, act="Amend the tap")

    def record_values(self) -> dict[str, Any]:
        """Return the tap's values by the record's names."""
        return self.changes()


class PlaceFields(forms.Form):
    """What is known about a place."""

    name = forms.CharField(max_length=80, help_text="Such as Walk-in or Back bar cooler.")
    kind = forms.ChoiceField(
        choices=Place.Kind.choices,
        help_text="Walk-ins, fridges, keg coolers and freezers stand in the temperature round.",
    )

    def record_values(self) -> dict[str, Any]:
        """Return the place's values by the record's names."""
        return {name: self.cleaned_data[name] for name in ("name", "kind")}


class PlaceForm(PlaceFields):
    """A place to add."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Add the place")


class PlaceAmendForm(AmendForm, PlaceFields):
    """A place to amend."""

    is_active = forms.BooleanField(
        label="In use", required=False, help_text="Not ticked: kegs can no longer be moved here."
    )

    def __init__(self, *args: Any, record: Place, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.helper = PageFormHelper(self, act="Amend the place")

    def record_values(self) -> dict[str, Any]:
        """Return the place's values by the record's names."""
        return self.changes()


class ServiceForm(ReasonForm):
    """Whether a keg or line may be used, and why."""

    service = forms.ChoiceField(
        label="From now on", choices=Service.choices, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, item: Keg | Line, **kwargs: Any) -> None:
        super().__init__(*args, initial={"service": item.service}, **kwargs)
        self.order_fields(["service", "reason"])
        self.helper = PageFormHelper(self, act="Set the service state")


def _value(quantity: Quantity | None) -> Decimal | None:
    return None if quantity is None else quantity.value
