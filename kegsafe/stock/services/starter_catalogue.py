"""Taking usual ingredients from the starter catalogue: a first draft that the label completes."""

from collections.abc import Iterable, Mapping

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.ledger.services import Recorder
from kegsafe.rules.allergens import State
from kegsafe.rules.catalogue import CatalogueIngredient, catalogue
from kegsafe.stock.models import Ingredient, Measure
from kegsafe.stock.services.ingredients import add_ingredient
from kegsafe.venues.models import Venue

TAKEN = "taken from the starter catalogue"

# How such a thing is usually counted; it can be amended until a first lot comes in.
_MEASURES: Mapping[str, str] = {
    "dry_or_low_moisture": Measure.MASS,
    "whole_produce": Measure.COUNT,
}


@transaction.atomic
def pick_from_catalogue(*, venue: Venue, keys: Iterable[str], by: Recorder) -> list[Ingredient]:
    """Add catalogue ingredients the venue has none of that name yet; return those added.

    What the list of allergens was read from stays blank: until somebody read the
    actual label, nothing counts as absent. What depends on the supplier is not known.

    Raises ValidationError for a key the catalogue does not have.
    """
    keys = tuple(keys)
    on_file = {entry.key: entry for entry in catalogue()}
    strange = [key for key in keys if key not in on_file]
    if strange:
        raise ValidationError(f'"{strange[0][:60]}" is not in the starter catalogue. Pick again.')
    taken = {name.casefold() for name in venue.ingredients.values_list("name", flat=True)}
    picked = [on_file[key] for key in dict.fromkeys(keys)]
    return [_add(venue, entry, by) for entry in picked if name_of(entry).casefold() not in taken]


def name_of(entry: CatalogueIngredient) -> str:
    """Return the name an ingredient gets: with a capital, as it stands on lists and labels."""
    return entry.name[:1].upper() + entry.name[1:]


def _add(venue: Venue, entry: CatalogueIngredient, by: Recorder) -> Ingredient:
    has_one_strength = entry.abv_low_percent == entry.abv_high_percent
    return add_ingredient(
        venue=venue,
        name=name_of(entry),
        category=entry.tcs_category,
        by=by,
        action=TAKEN,
        allergens=_allergens(entry),
        measure=_MEASURES.get(entry.tcs_category, Measure.VOLUME),
        warning_group=entry.warning_group,
        abv_percent=entry.abv_low_percent if has_one_strength else None,
        total_so2_mg_per_l=entry.so2_default_mg_per_l,
        total_so2_basis=entry.so2_basis,
    )


def _allergens(entry: CatalogueIngredient) -> dict[str, tuple[str, str]]:
    """The gravest statement of a source wins, should the catalogue name it twice."""
    return {
        **{
            source: (State.EXEMPT_BY_PROCESS.value, process)
            for source, process in entry.exempt_by_process
        },
        **dict.fromkeys(entry.ask_supplier, (State.NOT_KNOWN.value, "")),
        **dict.fromkeys(entry.contains, (State.CONTAINS.value, "")),
    }
