"""Forms for recipes, their items, their in-keg shelf lives, and scaling them."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import HTML
from django import forms

from kegsafe.batches.forms.amounts import AmountField, read_amount
from kegsafe.batches.models import Recipe, RecipeItem
from kegsafe.batches.scaling import highest_fill_percent, volume_for_kegs
from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.ledger.forms import AmendForm
from kegsafe.quantities import Kind, Quantity, UnitSystem, write
from kegsafe.stock.forms.fields import day_field, measured_field
from kegsafe.stock.forms.shelf_lives import ShelfLifeTermsForm
from kegsafe.stock.models import Ingredient
from kegsafe.venues.models import Venue

_MOST_ML = Decimal(1_000_000)
_MOST_KEGS = 200
_AND_ANOTHER = (
    '<p><button class="btn btn-secondary big-button" type="submit" name="another" value="yes">'
    "Add it, and another</button></p>"
)


# What a field is called on the record, where it is not the same.
_COLUMNS = {
    "test_volume": "test_volume_ml",
    "set_pressure": "set_gauge_pa",
    "serving": "serve_ml",
    "hold_at_or_below": "hold_at_or_below_degc",
}


class RecipeFields(forms.Form):
    """What a recipe says of the drink, as proved in the test batch."""

    name = forms.CharField(max_length=120)
    test_volume = QuantityField(
        kind=Kind.VOLUME,
        label="Test batch",
        minimum=Decimal(1),
        maximum=_MOST_ML,
        help_text="The volume the amounts are written for: 1.5 L or 50 fl oz.",
    )
    set_pressure = QuantityField(
        kind=Kind.GAUGE_PRESSURE,
        label="Usual set pressure",
        required=False,
        help_text="On the regulator, gauge: 2.5 bar or 36 psi.",
    )
    rest_hours = forms.IntegerField(
        label="Rest before pouring, in hours",
        min_value=0,
        max_value=240,
        initial=24,
        help_text="So that the gas dissolves evenly. Common practice, no source.",
    )
    serving = QuantityField(kind=Kind.VOLUME, label="One serving", required=False)
    hold_at_or_below = measured_field(Kind.TEMPERATURE, "Hold at or below")
    measured_ph = measured_field(Kind.PH, "Measured pH")
    measured_water_activity = measured_field(Kind.WATER_ACTIVITY, "Measured water activity")
    measured_on = day_field(label="Measured on", required=False)
    method = forms.CharField(widget=forms.Textarea(attrs={"rows": 4}), required=False)

    PARTS = (
        Part("The drink", "name", SideBySide("test_volume", "serving"), "method"),
        Part(
            "In the keg",
            SideBySide("set_pressure", "hold_at_or_below"),
            "rest_hours",
        ),
        Part(
            "Measured on the degassed drink",
            SideBySide("measured_ph", "measured_water_activity"),
            "measured_on",
            sentence="Shake the gas out first: dissolved CO2 makes the pH read too low. What is "
            "not measured stays not known.",
        ),
    )

    def record_values(self) -> dict[str, Any]:
        """Return the recipe by the names of its record."""
        return {
            _COLUMNS.get(name, name): _stored(value) for name, value in self.cleaned_data.items()
        }


class RecipeForm(RecipeFields):
    """A new recipe."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, *self.PARTS, act="Add the recipe")


class RecipeAmendForm(AmendForm, RecipeFields):
    """A change to a recipe, with the reason."""

    is_active = forms.BooleanField(label="In use", required=False)

    def __init__(self, *args: Any, record: Recipe, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.helper = PageFormHelper(
            self,
            *self.PARTS,
            Part("The change", "is_active", "reason", "seen"),
            act="Amend the recipe",
        )

    def shown(self, record: Recipe) -> dict[str, Any]:
        """Return the recipe as somebody of this venue would type it."""
        shown = {
            name: getattr(record, _COLUMNS.get(name, name))
            for name in (*RecipeFields.base_fields, "is_active")
        }
        for name, field in RecipeFields.base_fields.items():
            if isinstance(field, QuantityField):
                shown[name] = as_typed(shown[name], field.kind, record.venue.units)
        return shown

    def changed_values(self) -> dict[str, Any]:
        """Return what says something new, by the names of the record."""
        return {_COLUMNS.get(name, name): _stored(new) for name, new in self.changes().items()}


class RecipeItemForm(forms.Form):
    """One ingredient of a recipe."""

    ingredient = forms.ModelChoiceField(Ingredient.objects.none(), empty_label="Choose one")
    amount = AmountField(help_text="As you write it: 45 ml, 1 1/2 oz, 2 dashes, 30 g, 3 pieces.")
    where = forms.ChoiceField(
        label="Goes",
        choices=RecipeItem.Where.choices,
        widget=forms.RadioSelect,
        initial=RecipeItem.Where.KEG,
        help_text="In the keg: for the whole test batch. In the glass: for one serving.",
    )

    def __init__(self, *args: Any, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["ingredient"].queryset = venue.ingredients.filter(is_active=True)
        self.helper = PageFormHelper(
            self, "ingredient", "amount", "where", HTML(_AND_ANOTHER), act="Add the item"
        )

    def clean(self) -> dict[str, Any]:
        """Read the amount the way the ingredient is counted."""
        cleaned = super().clean()
        if cleaned.get("ingredient") and cleaned.get("amount"):
            cleaned["amount"] = read_amount(self, "amount", cleaned["ingredient"].measure)
        return cleaned


class KegShelfLifeForm(ShelfLifeTermsForm):
    """How long the drink keeps in its keg: counted from the fill, so no event is chosen."""


class ScaleForm(forms.Form):
    """What a recipe is scaled to: a volume, or a number of kegs filled to a level."""

    volume = QuantityField(
        kind=Kind.VOLUME,
        label="Target volume",
        required=False,
        minimum=Decimal(1),
        maximum=_MOST_ML,
        help_text="18 L or 5 gal. Or leave it out and count kegs.",
    )
    kegs = forms.IntegerField(
        label="Number of kegs", min_value=1, max_value=_MOST_KEGS, required=False
    )
    capacity = QuantityField(
        kind=Kind.VOLUME,
        label="Keg capacity",
        required=False,
        minimum=Decimal(1),
        maximum=_MOST_ML,
        help_text="19 L or 5 gal.",
    )
    fill_level = QuantityField(
        kind=Kind.PERCENT,
        label="Filled to",
        required=False,
        minimum=Decimal(1),
        maximum=highest_fill_percent(),
        help_text="The rest is head space for gas.",
    )

    def clean(self) -> dict[str, Any]:
        """Accept one of the two ways, and say which half is missing."""
        cleaned = super().clean()
        if self.errors or cleaned.get("volume"):
            return cleaned
        for name, example in (("kegs", "2"), ("capacity", "19 L")):
            if not cleaned.get(name):
                self.add_error(
                    name, f"Enter a target volume, or count kegs and their capacity: {example}."
                )
        return cleaned

    @property
    def target_ml(self) -> Decimal | None:
        """Return the volume to scale to; None until the form is whole."""
        if not self.is_valid():
            return None
        typed = self.cleaned_data
        if typed["volume"]:
            return typed["volume"].value
        level = typed["fill_level"].value if typed["fill_level"] else highest_fill_percent()
        return volume_for_kegs(typed["kegs"], typed["capacity"].value, level)


def as_typed(value: Decimal | None, kind: Kind, units: UnitSystem) -> str:
    """Return a stored number as somebody of the venue would type it; nothing where there is none.

    It is rounded for reading, so only a field that was changed may be stored again.
    """
    return "" if value is None else write(value, kind, units)


def _stored(value: Any) -> Any:
    return value.value if isinstance(value, Quantity) else value
