"""What belongs to a venue, found from the registry: a new model is taken along by itself.

A row belongs to the venue that its foreign keys lead to. A model that leads to no venue is
packed only when it is named here; until then nothing is packed at all.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from django.apps import apps
from django.contrib.auth.models import User
from django.db import models
from django.db.models import Field, Q, QuerySet

from kegsafe.ledger.models import Chain, Entry, SentForm
from kegsafe.venues.models import Venue

# Of a person, who they are. Passwords, sessions and rights over the site stay where they are.
_OF_A_PERSON = (
    *("id", "username", "first_name", "last_name", "email", "is_active", "date_joined"),
)

# Models of the house that no venue owns, and why they stay behind.
LEFT_BEHIND: dict[type[models.Model], str] = {
    SentForm: "Keys of forms sent within two days, good for the old site's sessions only.",
}


class LeadsToNoVenue(Exception):
    """A model has no foreign key that leads to a venue, and nobody has said what becomes of it."""


@dataclass(frozen=True, slots=True)
class Belonging:
    """One model that moves with a venue, and the fields of it that are carried."""

    model: type[models.Model]
    fields: tuple[Field, ...]

    @property
    def label(self) -> str:
        return self.model._meta.label_lower

    @property
    def columns(self) -> tuple[str, ...]:
        """Return the names of the fields as the file has them."""
        return tuple(field.attname for field in self.fields)

    @property
    def references(self) -> Iterator[tuple[int, type[models.Model]]]:
        """Yield the place of each foreign key among the fields, and the model it names."""
        for place, field in enumerate(self.fields):
            if field.is_relation:
                yield place, field.related_model

    def rows(self, venue: Venue) -> QuerySet:
        """Return the venue's rows, in the order of their keys."""
        return self.model._base_manager.filter(_owned(self.model, venue)).order_by("pk")


@cache
def belongings() -> tuple[Belonging, ...]:
    """Return every model that moves with a venue; the ledger's entries come last.

    Raises LeadsToNoVenue, naming the model and what to add.
    """
    mine = [model for model in _models_of_the_house() if model not in {Chain, Entry, *LEFT_BEHIND}]
    for model in mine:
        _refuse_unless_owned(model)
    return tuple(_belonging(model) for model in (User, Chain, *mine, Entry))


@cache
def paths_to_venue(model: type[models.Model]) -> tuple[str, ...]:
    """Return the lookups that lead from a row to its venue: any one of them that is not empty.

    >>> paths_to_venue(apps.get_model("batches.Draw"))
    ('lot__venue',)
    >>> paths_to_venue(apps.get_model("equipment.Use"))
    ('keg__venue', 'line__venue')
    """
    return _paths(model, frozenset())


def _models_of_the_house() -> list[type[models.Model]]:
    return [
        model
        for model in apps.get_models(include_auto_created=True)
        if model.__module__.startswith("kegsafe.") and model._meta.managed
    ]


def _belonging(model: type[models.Model]) -> Belonging:
    fields = model._meta.concrete_fields
    if model is User:
        fields = [User._meta.get_field(name) for name in _OF_A_PERSON]
    elif model is Entry:
        # The number of an entry's row is no part of what was hashed; its sequence is.
        fields = [field for field in fields if not field.primary_key]
    return Belonging(model, tuple(fields))


def _paths(model: type[models.Model], seen: frozenset[type[models.Model]]) -> tuple[str, ...]:
    """Prefer one path that is never empty, the shortest; else take all that may be."""
    if model is Venue:
        return ("pk",)
    always: list[tuple[str, ...]] = []
    maybe: list[str] = []
    for field in model._meta.concrete_fields:
        if not field.is_relation or field.related_model in {*seen, model}:
            continue
        further = _paths(field.related_model, seen | {model})
        paths = tuple(f"{field.name}__{path}".removesuffix("__pk") for path in further)
        if field.null:
            maybe.extend(paths)
        elif paths:
            always.append(paths)
    if always:
        return min(always, key=lambda paths: (len(paths), sum(map(len, paths))))
    return tuple(maybe)


def _owned(model: type[models.Model], venue: Venue) -> Q:
    if model is Chain:
        return Q(pk=venue.chain_id)
    if model is Entry:
        return Q(chain=venue.chain_id)
    if model is User:
        return _named_by_the_venue(venue)
    condition = Q()
    for path in paths_to_venue(model):
        condition |= Q(**{path: venue.pk})
    return condition


def _named_by_the_venue(venue: Venue) -> Q:
    """Return the people that any of the venue's records names."""
    condition = Q(pk__in=())
    for belonging in belongings():
        for place, target in belonging.references:
            if target is User:
                people = belonging.rows(venue).values(belonging.columns[place])
                condition |= Q(pk__in=people.order_by())
    return condition


def _refuse_unless_owned(model: type[models.Model]) -> None:
    if not paths_to_venue(model):
        raise LeadsToNoVenue(
            f"{model._meta.label} leads to no venue. Give it a foreign key that does, or say in "
            "LEFT_BEHIND of kegsafe/exports/moving/belongings.py why it stays behind."
        )
    for field in model._meta.concrete_fields:
        if field.is_relation and field.related_model not in {User, Chain, *_models_of_the_house()}:
            raise LeadsToNoVenue(
                f"{model._meta.label}.{field.name} names a {field.related_model._meta.label}, "
                "which does not move with a venue."
            )
