"""Forms for what happens to a lot, and for finding one."""

from typing import Any

from django import forms
from django.db.models import Q

from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.ledger.forms import AmendForm
from kegsafe.quantities import Kind, Quantity
from kegsafe.stock.forms.fields import day_field, quantity_of, value_of
from kegsafe.stock.models import Lot
from kegsafe.stock.services.drawing import KIND_OF


class MomentForm(forms.Form):
    """When it was done: now, unless said otherwise."""

    def __init__(self, *args: Any, moment: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields[moment] = PastMomentField(label="When")


class LotAmendForm(AmendForm):
    """What was recorded at the door, to correct."""

    amount = QuantityField(kind=Kind.VOLUME, label="Amount received")
    supplier_lot_code = forms.CharField(label="Supplier's lot code", max_length=80, required=False)
    date_kind = forms.ChoiceField(label="Kind of date", choices=Lot.DateKind.choices)
    date_on = day_field(label="Date on the pack", required=False)
    arrival_temperature = QuantityField(
        kind=Kind.TEMPERATURE, label="Temperature on arrival", required=False
    )
    place = forms.ModelChoiceField(None, required=False, empty_label="Not recorded")

    def __init__(self, *args: Any, record: Lot, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.fields["amount"] = QuantityField(kind=KIND_OF[record.measure], label="Amount received")
        self.fields["place"].queryset = record.venue.places.filter(
            Q(is_active=True) | Q(pk=record.place_id)
        )
        self.helper = PageFormHelper(
            self,
            Part(
                "As it came",
                "amount",
                "supplier_lot_code",
                SideBySide("date_kind", "date_on"),
                SideBySide("arrival_temperature", "place"),
            ),
            Part("The change", "reason", "seen"),
            act="Amend the lot",
        )

    def shown(self, record: Lot) -> dict[str, Any]:
        """Return the lot's values as somebody would type them."""
        kind = KIND_OF[record.measure]
        return {
            "amount": Quantity(kind, record.amount_received, record.amount_typed),
            "supplier_lot_code": record.supplier_lot_code,
            "date_kind": record.date_kind,
            "date_on": record.date_on,
            "arrival_temperature": quantity_of(record.arrival_temperature_degc, Kind.TEMPERATURE),
            "place": record.place,
        }

    def record_values(self) -> dict[str, Any]:
        """Return the new values by the service's names."""
        typed = self.cleaned_data
        names = ("supplier_lot_code", "date_kind", "date_on", "place")
        return {
            **{name: typed[name] for name in names},
            "amount": typed["amount"].value,
            "amount_typed": typed["amount"].typed,
            "arrival_temperature_degc": value_of(typed["arrival_temperature"]),
        }
