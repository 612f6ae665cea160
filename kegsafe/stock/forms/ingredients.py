"""The form of an ingredient: what it is, what is in it, and one statement for each allergen."""

from collections.abc import Mapping
from typing import Any

from django import forms

from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.ledger.forms import AmendForm
from kegsafe.quantities import Kind
from kegsafe.rules.tcs import tcs_categories
from kegsafe.stock.forms.allergens import (
    AllergenRows,
    allergen_fields,
    allergens_from,
    allergens_shown,
)
from kegsafe.stock.forms.fields import measured_field, quantity_of, value_of
from kegsafe.stock.models import Ingredient, Measure

_MEASURED: Mapping[str, Kind] = {
    "abv_percent": Kind.ALCOHOL,
    "total_so2_mg_per_l": Kind.CONCENTRATION,
    "sugar_brix": Kind.SUGAR,
    "density_g_per_ml": Kind.DENSITY,
    "measured_ph": Kind.PH,
    "measured_water_activity": Kind.WATER_ACTIVITY,
}
_CATEGORY_GROUPS = {
    "yes": "Needs time/temperature control",
    "measure": "Depends on its measured pH and water activity",
    "label": "Its label decides",
    "no": "Needs none as such",
}


def category_choices() -> list[tuple[str, Any]]:
    """Return the kinds of food, grouped by what the code says of them."""
    groups: dict[str, list[tuple[str, str]]] = {heading: [] for heading in _CATEGORY_GROUPS}
    for category in tcs_categories().values():
        groups[category.tcs].append((category.key, category.name[:1].upper() + category.name[1:]))
    grouped = [(_CATEGORY_GROUPS[tcs], choices) for tcs, choices in groups.items() if choices]
    return [("", "Choose one"), *grouped]


class IngredientFields(forms.Form):
    """What is known about an ingredient. A number left out is not known, never nothing."""

    name = forms.CharField(max_length=120, help_text="As it stands on lists and labels.")
    category = forms.ChoiceField(
        label="Kind of food",
        choices=category_choices,
        help_text="Decides what the code says about it while nothing is measured.",
    )
    measure = forms.ChoiceField(label="Counted", choices=Measure.choices)
    warning_group = forms.ChoiceField(
        choices=Ingredient.WarningGroup.choices,
        required=False,
        help_text="For the words on the label: citrus juice, dairy, raw egg.",
    )
    made_in_house = forms.BooleanField(
        required=False, help_text="A syrup, an infusion or a juice that is prepared here."
    )
    abv_percent = measured_field(Kind.ALCOHOL, "Alcohol")
    sugar_brix = measured_field(Kind.SUGAR, "Sugar")
    total_so2_mg_per_l = measured_field(
        Kind.CONCENTRATION,
        "Total SO2",
        help_text="For example 120 mg/L. Left out: not known, and sulphites are declared.",
    )
    total_so2_basis = forms.CharField(
        label="SO2 read from",
        max_length=160,
        required=False,
        help_text="Supplier's value, legal maximum, laboratory report.",
    )
    density_g_per_ml = measured_field(Kind.DENSITY, "Density")
    measured_ph = measured_field(
        Kind.PH, "Measured pH", help_text="Measured here or by a laboratory; never from a book."
    )
    measured_water_activity = measured_field(Kind.WATER_ACTIVITY, "Measured water activity")
    heat_treated_and_packaged = forms.BooleanField(
        label="Heat-treated and then packed closed",
        required=False,
        help_text="Only with the record of it on file.",
    )
    shelf_stable_unopened = forms.BooleanField(
        label="Keeps at room temperature until opened",
        required=False,
        help_text="By the maker's label.",
    )
    date_mark_exempt = forms.BooleanField(
        label="Exempt from date marking",
        required=False,
        help_text="Cultured dairy and the like from an inspected plant: 3-501.17(F). The local "
        "code decides.",
    )
    allergen_list_basis = forms.CharField(
        label="Allergen list read from",
        max_length=160,
        required=False,
        help_text="Such as: maker's label, 3 May 2026. Once something stands here, a source "
        "below without a statement was not named on that list. Left out: it is not known.",
    )

    ABOUT = Part("The ingredient", "name", "category", SideBySide("measure", "warning_group"))
    PARTS = (
        Part(
            "What is in it",
            SideBySide("abv_percent", "sugar_brix"),
            SideBySide("total_so2_mg_per_l", "total_so2_basis"),
            "density_g_per_ml",
            sentence="Leave out what nobody knows. It is never read as nothing.",
        ),
        Part(
            "How it keeps",
            SideBySide("measured_ph", "measured_water_activity"),
            "heat_treated_and_packaged",
            "shelf_stable_unopened",
            "date_mark_exempt",
            sentence="Measured values decide before the kind of food does.",
        ),
        Part(
            "Allergens",
            "allergen_list_basis",
            AllergenRows(),
            sentence="Say what the label or the supplier's document says, source by source.",
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields.update(allergen_fields())

    def record_values(self) -> dict[str, Any]:
        """Return the values by the service's names, in base units, allergens included."""
        facts = [name for name in IngredientFields.base_fields if name not in _MEASURED]
        return {
            **{name: self.cleaned_data[name] for name in facts if name in self.cleaned_data},
            **{name: value_of(self.cleaned_data[name]) for name in _MEASURED},
            "allergens": allergens_from(self.cleaned_data),
        }


class IngredientForm(IngredientFields):
    """An ingredient to add."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self, self.ABOUT, "made_in_house", *self.PARTS, act="Add the ingredient"
        )


class IngredientAmendForm(AmendForm, IngredientFields):
    """An ingredient to amend. A source with a statement keeps one: it may only change."""

    is_active = forms.BooleanField(
        label="In use", required=False, help_text="Out of use: no delivery and no recipe takes it."
    )

    def __init__(self, *args: Any, record: Ingredient, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        stated = {row.source for row in record.allergens.all()}
        self.fields.update(allergen_fields(stated))
        self.order_fields([name for name in self.fields if name not in {"reason", "seen"}])
        self.helper = PageFormHelper(
            self,
            self.ABOUT,
            "made_in_house",
            "is_active",
            *self.PARTS,
            Part("The change", "reason", "seen"),
            act="Amend the ingredient",
        )

    def shown(self, record: Ingredient) -> dict[str, Any]:
        """Return the ingredient's values as somebody would type them."""
        plain = {
            name: getattr(record, name)
            for name in (*IngredientFields.base_fields, "is_active")
            if name not in _MEASURED
        }
        measured = {
            name: quantity_of(getattr(record, name), kind) for name, kind in _MEASURED.items()
        }
        return {**plain, **measured, **allergens_shown(record)}

    def record_values(self) -> dict[str, Any]:
        """Return the new values by the service's names."""
        return {**super().record_values(), "is_active": self.cleaned_data["is_active"]}
