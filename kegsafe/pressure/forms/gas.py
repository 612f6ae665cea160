"""Forms for what gas does: connect, set, charge, weigh; and for narrowing the register."""

from typing import Any

from django import forms

from kegsafe.equipment.models import Keg, Service
from kegsafe.frame.layout import PageFormHelper
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.pressure.models import GasFill, Item
from kegsafe.quantities import Kind
from kegsafe.rules.pressure.checks import kinds
from kegsafe.venues.models import Venue

_SORTS = (("due", "Most urgent"), ("name", "Name"), ("kind", "Kind"))
_STATES = (
    ("", "Anything"),
    ("asks", "Due or not known"),
    ("overdue", "Overdue"),
    ("not_known", "Not known"),
    ("soon", "Due soon"),
)


class FindForm(forms.Form):
    """What to look for in the register, and in which order."""

    q = forms.CharField(label="Look for", required=False, max_length=80)
    kind = forms.ChoiceField(label="Kind", required=False)
    state = forms.ChoiceField(label="What is due", required=False, choices=_STATES)
    service = forms.ChoiceField(
        label="Service", required=False, choices=[("", "All"), *Service.choices[:3]]
    )
    sort = forms.ChoiceField(label="Order", required=False, choices=_SORTS)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = [
            ("", "All"),
            *((kind.key, kind.label) for kind in kinds().values()),
        ]

    def criteria(self) -> dict[str, str]:
        """Return the words of `narrowed`; what cannot be read narrows nothing."""
        self.is_valid()
        said = self.cleaned_data
        names = {"q": "query", "kind": "kind", "state": "state", "service": "service"}
        return {name: said.get(field, "") for field, name in names.items()}

    @property
    def order(self) -> str:
        """Return the order asked for, the most urgent first where none is."""
        self.is_valid()
        return self.cleaned_data.get("sort") or "due"


class ConnectForm(forms.Form):
    """What an item is to feed. A thing that is on gas already is not offered."""

    target = forms.ChoiceField(
        label="Connect to",
        error_messages={"invalid_choice": "This cannot be connected now. Choose from the list."},
    )

    def __init__(self, *args: Any, source: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.source = source
        items = (
            Item.objects.filter(venue=source.venue_id, service=Service.IN_USE)
            .exclude(kind__in=(Item.Kind.MONITOR, Item.Kind.CYLINDER))
            .exclude(pk=source.pk)
            .exclude(fed_by__in=_open(source.venue))
            .filter(keg=None)
        )
        kegs = Keg.objects.filter(venue=source.venue_id, service=Service.IN_USE).exclude(
            gas_connections__in=_open(source.venue)
        )
        self._targets = {f"item-{item.pk}": item for item in items}
        self._targets |= {f"keg-{keg.pk}": keg for keg in kegs}
        self.fields["target"].choices = [(key, str(each)) for key, each in self._targets.items()]
        self.helper = PageFormHelper(self, act="Connect")

    def record_values(self) -> dict[str, Any]:
        """Return the target by the service's own name."""
        target = self._targets[self.cleaned_data["target"]]
        return {"keg" if isinstance(target, Keg) else "item": target}


class SetPressureForm(forms.Form):
    """What a regulator is set to."""

    set_pressure = QuantityField(kind=Kind.GAUGE_PRESSURE, label="Set pressure")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Record the set pressure")


class ChargeForm(forms.Form):
    """A fresh charge of gas."""

    supplier = forms.CharField(max_length=120)
    registration = forms.CharField(
        label="Its food business registration", max_length=60, required=False
    )
    grade = forms.ChoiceField(
        label="Grade on the label", choices=GasFill.Grade.choices, widget=forms.RadioSelect
    )
    lot = forms.CharField(label="Batch or lot", max_length=60)
    certificate = forms.CharField(label="Certificate: number", max_length=120, required=False)
    charge = QuantityField(kind=Kind.MASS, help_text="On the label, for example 10 kg or 20 lb.")
    received_at = PastMomentField(label="When")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Accept the gas")

    def record_values(self) -> dict[str, Any]:
        """Return what the service takes."""
        typed = {**self.cleaned_data}
        charge = typed.pop("charge")
        return {**typed, "charge_g": charge.value}


class WeighForm(forms.Form):
    """A cylinder on the scale."""

    gross = QuantityField(
        kind=Kind.MASS, label="Gross weight", help_text="Cap and hose off, for example 14.2 kg."
    )
    uncertainty = QuantityField(
        kind=Kind.MASS, label="Uncertainty of the scale", help_text="For example 50 g."
    )
    weighed_at = PastMomentField(label="When")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Record the weight")

    def record_values(self) -> dict[str, Any]:
        """Return what the service takes."""
        typed = self.cleaned_data
        return {
            "gross_g": typed["gross"].value,
            "uncertainty_g": typed["uncertainty"].value,
            "weighed_at": typed["weighed_at"],
        }


def _open(venue: Venue) -> Any:
    return venue.gas_connections.filter(ended_at=None)
