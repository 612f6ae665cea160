"""Forms for making a preparation or a batch: the work itself; the lots stand in rows beside it."""

from decimal import Decimal
from typing import Any

from django import forms

from kegsafe.batches.forms.amounts import AmountField, read_amount
from kegsafe.batches.models import Batch, Recipe
from kegsafe.frame.layout import FieldsHelper, PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.ledger.forms import AmendForm
from kegsafe.quantities import Kind
from kegsafe.stock.forms.fields import day_field, measured_field, quantity_of, value_of
from kegsafe.stock.models import Ingredient
from kegsafe.venues.models import Venue

_MOST_ML = Decimal(1_000_000)
_PAST_MIDNIGHT = "Past midnight: the date the shift began. Otherwise leave it out."


class PreparationForm(forms.Form):
    """A syrup, an infusion, a juice or a cordial made in house."""

    ingredient = forms.ModelChoiceField(
        Ingredient.objects.none(),
        label="What was made",
        empty_label="Choose one",
        help_text="Ingredients that are made in house.",
    )
    amount = AmountField(
        label="How much came of it", help_text="Measured when it was done: 1.6 L, 900 g."
    )
    began_at = PastMomentField(
        label="Begun", help_text="Its days count from here. Leave it out for now."
    )
    finished_at = PastMomentField(label="Finished", help_text="Leave it out when not noted.")
    business_date = day_field(label="Working day", required=False, help_text=_PAST_MIDNIGHT)
    place = forms.ModelChoiceField(None, label="Put where", required=False, empty_label="Not said")
    method = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False)

    def __init__(self, *args: Any, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["ingredient"].queryset = venue.ingredients.filter(
            made_in_house=True, is_active=True
        )
        self.fields["place"].queryset = venue.places.filter(is_active=True)
        self.helper = FieldsHelper(
            self,
            Part("What was made", SideBySide("ingredient", "amount"), "place"),
            Part(
                "When and how",
                SideBySide("began_at", "finished_at"),
                "business_date",
                "method",
            ),
        )

    def clean(self) -> dict[str, Any]:
        """Read the amount the way the ingredient is counted."""
        cleaned = super().clean()
        if cleaned.get("ingredient") and cleaned.get("amount"):
            cleaned["amount"] = read_amount(self, "amount", cleaned["ingredient"].measure)
        return cleaned


class BatchStartForm(forms.Form):
    """Which recipe, brought to which volume."""

    recipe = forms.ModelChoiceField(Recipe.objects.none(), empty_label="Choose one")
    volume = QuantityField(
        kind=Kind.VOLUME,
        label="Target volume",
        minimum=Decimal(1),
        maximum=_MOST_ML,
        help_text="What you are about to make: 18 L or 5 gal.",
    )

    def __init__(self, *args: Any, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["recipe"].queryset = venue.recipes.filter(is_active=True)
        self.helper = PageFormHelper(self, act="Scale the recipe")
        self.helper.form_method = "get"
        self.helper.attrs = {"novalidate": "novalidate"}


class BatchForm(forms.Form):
    """One making of a recipe."""

    volume_ml = QuantityField(
        kind=Kind.VOLUME,
        label="Volume made",
        minimum=Decimal(1),
        maximum=_MOST_ML,
        help_text="As measured in the vessel.",
    )
    made_at = PastMomentField(label="Made")
    business_date = day_field(label="Working day", required=False, help_text=_PAST_MIDNIGHT)
    measured_ph = measured_field(Kind.PH, "Measured pH", help_text="Of the degassed drink.")
    measured_water_activity = measured_field(Kind.WATER_ACTIVITY, "Measured water activity")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FieldsHelper(
            self,
            Part("The batch", SideBySide("volume_ml", "made_at"), "business_date"),
            Part(
                "Measured on this batch",
                SideBySide("measured_ph", "measured_water_activity"),
                sentence="What is not measured here is taken from the recipe, where it was "
                "measured there.",
            ),
        )

    def record_values(self) -> dict[str, Any]:
        """Return the batch by the service's names, without when it was made."""
        typed = self.cleaned_data
        measured = ("volume_ml", "measured_ph", "measured_water_activity")
        return {
            "business_date": typed["business_date"],
            **{name: value_of(typed[name]) for name in measured},
        }


class BatchAmendForm(AmendForm):
    """What was measured on a batch, entered later or corrected."""

    measured_ph = measured_field(Kind.PH, "Measured pH", help_text="Of the degassed drink.")
    measured_water_activity = measured_field(Kind.WATER_ACTIVITY, "Measured water activity")

    def __init__(self, *args: Any, record: Batch, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.helper = PageFormHelper(
            self,
            SideBySide("measured_ph", "measured_water_activity"),
            "reason",
            "seen",
            act="Amend the batch",
        )

    def shown(self, record: Batch) -> dict[str, Any]:
        """Return the measurements as somebody would type them."""
        return {
            "measured_ph": quantity_of(record.measured_ph, Kind.PH),
            "measured_water_activity": quantity_of(
                record.measured_water_activity, Kind.WATER_ACTIVITY
            ),
        }

    def changed_values(self) -> dict[str, Any]:
        """Return the measurements that say something new, by the names of the record."""
        return {name: value_of(new) for name, new in self.changes().items()}


class LateDrawForm(forms.Form):
    """When a draw that nobody wrote down was made, and why it is recorded only now."""

    drawn_at = PastMomentField(label="Drawn")
    reason = forms.CharField(
        max_length=200,
        help_text="A few words. They stay in the ledger.",
        error_messages={"required": "Say why it is recorded only now: a few words do."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FieldsHelper(self, SideBySide("drawn_at", "reason"))
