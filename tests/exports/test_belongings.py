"""Every model of the house moves with its venue, a new one by itself, and no row is left."""

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.db import models
from django.test.utils import isolate_apps
from django.utils import timezone

from kegsafe.exports.moving import belongings as house
from kegsafe.exports.moving.belongings import LEFT_BEHIND, belongings, paths_to_venue
from kegsafe.frame.kept_files import KeepsFiles
from kegsafe.inspection import storage
from kegsafe.inspection.models import InspectionPack
from kegsafe.venues.models import Venue
from tests.laid_demo import laid_demo

# Of these the rows hold a hash, a public certificate or a part of one: nothing that opens a door
# by itself. A new field of this kind is looked at by somebody, then named here or not carried.
LOOKED_AT = {
    "cold_chain.logger.token_sha256": "a hash, as the ledger has it; the token cannot be read back",
    "cold_chain.logger.token_prefix": "the first letters, to tell tokens apart on a page",
    "cleaning.feedaddress.token_hash": "a hash, as the ledger has it",
    "inspection.inspectorlink.token_hash": "a hash, as the ledger has it; the link ends by itself",
}
SECRET_WORDS = ("password", "token", "secret", "private", "key_pem", "passphrase")


def test_every_model_of_the_house_moves_or_says_why_not():
    """It fails for a new model that leads to no venue; the error says what to add."""
    ours = {
        model
        for model in apps.get_models(include_auto_created=True)
        if model.__module__.startswith("kegsafe.")
    }
    moving = {belonging.model for belonging in belongings()}
    assert ours == (moving | LEFT_BEHIND.keys()) - {User}


def test_a_model_that_leads_to_no_venue_is_named(monkeypatch):
    with isolate_apps("kegsafe.exports"):

        class Forgotten(models.Model):
            name = models.CharField(max_length=1)

            class Meta:
                app_label = "exports"

            def __str__(self) -> str:
                return self.name

    monkeypatch.setattr(house, "_models_of_the_house", lambda: [Venue, Forgotten])
    belongings.cache_clear()
    try:
        with pytest.raises(house.LeadsToNoVenue, match=r"exports\.Forgotten leads to no venue"):
            belongings()
    finally:
        belongings.cache_clear()


def test_a_row_belongs_through_a_key_that_is_never_empty_or_through_any_that_may_be():
    assert paths_to_venue(apps.get_model("batches.Fill")) == ("keg__venue",)
    assert set(paths_to_venue(apps.get_model("equipment.Use"))) == {"keg__venue", "line__venue"}


def test_all_fields_are_carried_but_passwords_rights_and_sessions():
    left = {
        f"{belonging.label}.{each.attname}"
        for belonging in belongings()
        for each in belonging.model._meta.concrete_fields
        if each not in belonging.fields
    }
    of_people = {"password", "last_login", "is_superuser", "is_staff"}
    assert left == {f"auth.user.{name}" for name in of_people} | {"ledger.entry.id"}


def test_no_field_that_sounds_like_a_secret_is_carried_unseen():
    secret = {
        f"{belonging.label}.{column}"
        for belonging in belongings()
        for column in belonging.columns
        if any(word in column for word in SECRET_WORDS)
    }
    assert secret == LOOKED_AT.keys()


def test_every_model_that_keeps_files_says_where_they_are():
    """The bytes of these are packed: the fix for a new model is `kept_files` of KeepsFiles."""
    for belonging in belongings():
        keeps_files = any(
            column == "stored_as" or isinstance(each, models.FileField)
            for column, each in zip(belonging.columns, belonging.fields, strict=True)
        )
        assert keeps_files == issubclass(belonging.model, KeepsFiles), belonging.label


def test_a_packs_files_lie_where_the_inspection_room_looks_for_them():
    pack = InspectionPack(stored_as="abc")
    endings = (storage.PDF, storage.ROWS)
    assert [file.path for file in pack.kept_files()] == [
        storage.path_of(pack, ending) for ending in endings
    ]


@pytest.mark.django_db
def test_each_row_of_the_demo_belongs_to_one_of_its_bars():
    with laid_demo(timezone.now()):
        venues = list(Venue.objects.all())
        for belonging in belongings():
            counts = [belonging.rows(venue).count() for venue in venues]
            everything = belonging.model._base_manager.count()
            if belonging.model is User:  # two of them have a role at both
                assert max(counts) <= everything <= sum(counts)
            else:
                assert sum(counts) == everything, belonging.label
