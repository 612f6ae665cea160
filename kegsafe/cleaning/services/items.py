"""The list of what is cleaned besides kegs, lines and taps, and what each piece carries."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from kegsafe.cleaning.models import CleanItem, DrinkCarried
from kegsafe.cleaning.models.equipment import sort_of
from kegsafe.equipment.models import Keg, Line, Place, Tap
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.venues.models import Venue


@transaction.atomic
def add_item(
    *,
    venue: Venue,
    name: str,
    kind: str,
    place: Place | None = None,
    drink_kind: str = "any",
    by: Recorder,
) -> CleanItem:
    """Put a piece on the list of what is cleaned."""
    item = CleanItem(venue=venue, name=name.strip(), kind=kind, place=place, drink_kind=drink_kind)
    create(item, by=by, action="added")
    return item


@transaction.atomic
def amend_item(
    *,
    item: CleanItem,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what is on record of a piece, such as that it is no longer in use."""
    return amend(item, changes, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def say_drink_carried(*, piece: Keg | Line | Tap, drink_kind: str, by: Recorder) -> DrinkCarried:
    """Say what kind of drink a keg, line or tap carries from now on: its plans follow from it."""
    said = DrinkCarried(
        venue=piece.venue,
        drink_kind=drink_kind,
        recorded_by=by.person,
        **{sort_of(piece): piece},
    )
    create(said, by=by, action="drink carried")
    return said
