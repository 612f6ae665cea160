"""One choice for each allergenic source, the exemptions among them: stated in one press."""

from collections.abc import Collection, Mapping
from typing import Any

from crispy_forms.layout import LayoutObject
from django import forms
from django.template import Context
from django.template.loader import render_to_string

from kegsafe.rules.allergen_lists import AllergenSource, processes, sources
from kegsafe.rules.allergens import State
from kegsafe.stock.models import Ingredient, IngredientAllergen

_PREFIX = "source_"
_STATEMENTS = [
    (value, label)
    for value, label in IngredientAllergen.Statement.choices
    if value != State.EXEMPT_BY_PROCESS
]
_GROUPS = ("Milk, egg and others", "Cereals", "Nuts", "On no allergen list, for information")


def allergen_fields(stated: Collection[str] = ()) -> dict[str, forms.ChoiceField]:
    """Return one field for each source; a source with a statement cannot go back to none."""
    return {
        _PREFIX + source.key: forms.ChoiceField(
            label=source.name[:1].upper() + source.name[1:],
            required=False,
            choices=[*([] if source.key in stated else [("", "Not stated")]), *_choices(source)],
        )
        for source in sources().values()
    }


def allergens_from(cleaned: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Return what was stated, as the services take it: source to statement and process."""
    stated = {}
    for name, choice in cleaned.items():
        if name.startswith(_PREFIX) and choice:
            statement, _, process = choice.partition(":")
            stated[name.removeprefix(_PREFIX)] = (statement, process)
    return stated


def allergens_shown(ingredient: Ingredient) -> dict[str, str]:
    """Return what is stated now, by field."""
    return {
        _PREFIX + row.source: _choice(row.statement, row.exemption)
        for row in ingredient.allergens.all()
    }


class AllergenRows(LayoutObject):
    """The sources in groups, one row each; a group with nothing stated may stay folded."""

    def render(self, form: forms.BaseForm, context: Context, **kwargs: Any) -> str:
        """Return every allergen field of the form, and mark it as rendered."""
        groups: dict[str, list[forms.BoundField]] = {group: [] for group in _GROUPS}
        for source in sources().values():
            field = form[_PREFIX + source.key]
            groups[_group(source)].append(field)
            form.rendered_fields.add(field.name)
        shown = [
            {"heading": heading, "fields": fields, "stated": sum(bool(f.value()) for f in fields)}
            for heading, fields in groups.items()
        ]
        return render_to_string("stock/_allergen_rows.html", {"groups": shown})


def _choices(source: AllergenSource) -> list[tuple[str, str]]:
    """The statements, and each process that may exempt this source as one of them."""
    exempt = [
        (_choice(State.EXEMPT_BY_PROCESS, process.key), f"Exempt: {process.label}")
        for process in processes().values()
        if source.key in process.sources
    ]
    return [*_STATEMENTS, *exempt]


def _choice(statement: str, process: str) -> str:
    return f"{statement}:{process}" if process else str(statement)


def _group(source: AllergenSource) -> str:
    entries = [entry for names in source.entries.values() for entry in names]
    if not source.is_on_any_list():
        return _GROUPS[3]
    if any("gluten" in entry for entry in entries):
        return _GROUPS[1]
    return _GROUPS[2] if any("nuts." in entry for entry in entries) else _GROUPS[0]
