"""The form of a delivery: who brought it, and one set of fields for each lot."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django import forms
from django.utils import timezone

from kegsafe.frame.layout import FieldsHelper, PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.ledger.forms import AmendForm
from kegsafe.quantities import Kind, UnreadableQuantity, read
from kegsafe.rules.cold.receiving import refused_by
from kegsafe.rules.facts import House
from kegsafe.stock.arrival import at_the_door
from kegsafe.stock.facts import house
from kegsafe.stock.forms.fields import NameField, day_field, value_of
from kegsafe.stock.importing.cells import COLDEST_ARRIVAL_DEGC, WARMEST_ARRIVAL_DEGC
from kegsafe.stock.importing.names import NameBook
from kegsafe.stock.models import Delivery, Ingredient, Lot, Supplier
from kegsafe.stock.services import NewLot
from kegsafe.stock.services.drawing import KIND_OF
from kegsafe.venues.models import Venue

INGREDIENT_NAMES = "ingredient-names"
MOST_LINES = 40

_ACCEPT, _HOLD, _REJECT = "accept", "hold", "reject"


class DeliveryForm(forms.Form):
    """Who brought it, when, on which document."""

    supplier = forms.ModelChoiceField(Supplier.objects.none(), empty_label="Choose one")
    document = forms.CharField(
        label="Delivery note or invoice number", max_length=80, required=False
    )
    received_at = PastMomentField(label="Received")

    def __init__(self, *args: Any, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["supplier"].queryset = venue.suppliers.filter(is_active=True)
        self.helper = FieldsHelper(self, "supplier", SideBySide("document", "received_at"))


class LateLotsForm(forms.Form):
    """Nothing but the lines: supplier, time and document stand on the delivery already."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FieldsHelper(self)


class PlaceChoices:
    """Where a lot may be put: fetched once for all lines of a delivery."""

    def __init__(self, venue: Venue) -> None:
        self.rows = venue.places.filter(is_active=True)
        self.choices = [("", "Not said"), *((place.pk, place.name) for place in self.rows)]


class LotLineForm(forms.Form):
    """One lot as it is checked at the door."""

    use_required_attribute = False

    ingredient = NameField(offered=INGREDIENT_NAMES, help_text="Type a few letters and choose.")
    quantity = forms.CharField(
        max_length=40, help_text="With its unit: 5 L, 700 ml, 2 kg, 24 pieces."
    )
    supplier_lot_code = forms.CharField(
        label="Supplier's lot code", max_length=80, required=False, help_text="From the pack."
    )
    date_kind = forms.ChoiceField(
        label="Date on the pack says",
        choices=[("", "Choose one"), *Lot.DateKind.choices],
        error_messages={"required": "Choose one: a missing date must be said, not guessed."},
    )
    date_on = day_field(label="Date", required=False)
    arrival_temperature = QuantityField(
        kind=Kind.TEMPERATURE,
        minimum=COLDEST_ARRIVAL_DEGC,
        maximum=WARMEST_ARRIVAL_DEGC,
        label="Temperature on arrival",
        required=False,
    )
    place = forms.ModelChoiceField(None, label="Put where", required=False, empty_label="Not said")
    decision = forms.ChoiceField(
        choices=[(_ACCEPT, "Accept"), (_HOLD, "Hold for the manager"), (_REJECT, "Reject")],
        widget=forms.RadioSelect,
        initial=_ACCEPT,
    )
    decided_because = forms.CharField(
        label="Why held or rejected",
        max_length=200,
        required=False,
        help_text="Only for what is not simply accepted.",
    )

    def __init__(
        self,
        *args: Any,
        ingredients: NameBook[Ingredient],
        places: PlaceChoices,
        at_house: House,
        received_at: datetime,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self._at_house, self._received_at = at_house, received_at
        self.fields["ingredient"].book = ingredients
        self.fields["place"].queryset = places.rows
        self.fields["place"].choices = places.choices
        self.helper = FieldsHelper(
            self,
            SideBySide("ingredient", "quantity"),
            SideBySide("date_kind", "date_on"),
            SideBySide("supplier_lot_code", "arrival_temperature"),
            SideBySide("place"),
            "decision",
            "decided_because",
        )

    def clean(self) -> dict[str, Any]:
        """Read the amount in the ingredient's own kind, and hold date and decision together."""
        cleaned = super().clean()
        self._read_amount(cleaned)
        self._check_date(cleaned)
        self._check_reason(cleaned)
        self._check_arrival(cleaned)
        return cleaned

    def new_lot(self) -> NewLot:
        """Return the line as the service takes it."""
        typed = self.cleaned_data
        why = {typed["decision"]: typed["decided_because"]}
        return NewLot(
            ingredient=typed["ingredient"],
            amount=typed["amount"].value,
            amount_typed=typed["amount"].typed,
            supplier_lot_code=typed["supplier_lot_code"],
            date_kind=typed["date_kind"],
            date_on=typed["date_on"],
            arrival_temperature_degc=value_of(typed["arrival_temperature"]),
            place=typed["place"],
            rejected_because=why.get(_REJECT, ""),
            held_because=why.get(_HOLD, ""),
        )

    def _read_amount(self, cleaned: dict[str, Any]) -> None:
        ingredient, typed = cleaned.get("ingredient"), cleaned.get("quantity")
        if not ingredient or not typed:
            return
        try:
            amount = read(typed, KIND_OF[ingredient.measure])
        except UnreadableQuantity as trouble:
            self.add_error("quantity", str(trouble))
            return
        if not amount.value:
            self.add_error("quantity", f'"{typed}" is nothing. Write what came: 700 ml, say.')
        cleaned["amount"] = amount

    def _check_date(self, cleaned: dict[str, Any]) -> None:
        kind, day = cleaned.get("date_kind"), cleaned.get("date_on")
        if kind == Lot.DateKind.NONE and day:
            self.add_error("date_on", "There is a date here: choose what it says, or take it out.")
        if kind and kind != Lot.DateKind.NONE and not day and "date_on" not in self.errors:
            self.add_error("date_on", "Enter the date on the pack: 2026-04-12, for example.")

    def _check_reason(self, cleaned: dict[str, Any]) -> None:
        is_accepted, why = cleaned.get("decision") == _ACCEPT, cleaned.get("decided_because")
        if not why and cleaned.get("decision") in {_HOLD, _REJECT}:
            self.add_error("decided_because", "Say why: arrived at 12 °C, for example.")
        if why and is_accepted:
            self.add_error(
                "decided_because",
                "A reason is for what is held or rejected. Choose Hold or Reject, or empty it.",
            )

    def _check_arrival(self, cleaned: dict[str, Any]) -> None:
        """What came too warm is not accepted at the door, whoever stands there."""
        ingredient, temperature = cleaned.get("ingredient"), cleaned.get("arrival_temperature")
        if ingredient is None or temperature is None or cleaned.get("decision") != _ACCEPT:
            return
        arrival = at_the_door(ingredient, temperature.value, self._at_house, self._received_at)
        refused = refused_by(arrival)
        if refused is not None:
            self.add_error("decision", f"{refused.statement} ({refused.source})")


class _Lines(forms.BaseFormSet):
    """The lots of one delivery: the first is needed, the others may stay empty."""

    typed: list[Mapping[str, Any]] = []

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        """Give a line what was typed in it before another line was asked for."""
        kwargs = super().get_form_kwargs(index)
        if index is not None and index < len(self.typed):
            kwargs["initial"] = self.typed[index]
        return kwargs

    def new_lots(self) -> list[NewLot]:
        """Return the lines that were filled in."""
        return [line.new_lot() for line in self if line.has_changed() or not line.empty_permitted]


def lot_lines(
    data: Any, venue: Venue, *, received_at: datetime | None = None, more: bool = False
) -> forms.BaseFormSet:
    """Return the lines of a delivery: one to begin with, or what was typed and one more.

    With `more` nothing is judged yet: the person is still counting boxes. What came too warm
    is judged by the limits of the day of `received_at`; None is now.
    """
    shown = _count(data) + 1 if more else 1
    factory = forms.formset_factory(
        LotLineForm,
        formset=_Lines,
        extra=max(shown - 1, 0),
        min_num=1,
        validate_min=True,
        max_num=MOST_LINES,
        absolute_max=MOST_LINES,
    )
    kwargs = {
        "ingredients": NameBook("ingredient", venue.ingredients.select_related("assessment")),
        "places": PlaceChoices(venue),
        "at_house": house(venue),
        "received_at": received_at or timezone.now(),
    }
    lines = factory(None if more else data, prefix="lot", form_kwargs=kwargs)
    if more:
        lines.typed = [_typed(data, index) for index in range(shown - 1)]
    return lines


class DeliveryAmendForm(AmendForm):
    """Who a delivery came from and on which document, to correct."""

    supplier = forms.ModelChoiceField(Supplier.objects.none())
    document = forms.CharField(
        label="Delivery note or invoice number", max_length=80, required=False
    )
    note = forms.CharField(max_length=200, required=False)

    def __init__(self, *args: Any, record: Delivery, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.fields["supplier"].queryset = record.venue.suppliers.all()
        self.helper = PageFormHelper(
            self,
            Part("The delivery", "supplier", "document", "note"),
            Part("The change", "reason", "seen"),
            act="Amend the delivery",
        )


class DeliveryFileForm(forms.Form):
    """A file of deliveries to look at."""

    file = forms.FileField(
        label="CSV file",
        help_text="At most 5 MB. Nothing is recorded yet: the next page shows every row.",
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv"}),
        error_messages={"empty": "The file is empty. The sample shows what belongs in it."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Look at the rows")


def _count(data: Any) -> int:
    typed = (data or {}).get("lot-TOTAL_FORMS", "0")
    return min(int(typed), MOST_LINES - 1) if typed.isdecimal() and len(typed) < 4 else 0


def _typed(data: Any, index: int) -> dict[str, str]:
    return {
        name: data[f"lot-{index}-{name}"]
        for name in LotLineForm.base_fields
        if f"lot-{index}-{name}" in data
    }
