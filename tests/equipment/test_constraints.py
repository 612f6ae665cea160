"""What cannot be stored, even where the forms and services are bypassed."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from kegsafe.equipment.models import Keg, Place, Placement, Use
from tests.builders import a_keg, a_line, a_place, a_venue

pytestmark = [pytest.mark.records, pytest.mark.django_db]
NOW = timezone.now()
BEFORE = NOW - timedelta(hours=1)


@pytest.fixture
def keg():
    return a_keg(a_venue(), name="K7")


def _refused(model, rule, /, **fields):
    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        model.objects.create(**fields)
    # SQLite names the columns of a broken uniqueness, PostgreSQL the rule.
    assert rule in str(refused.value) or "UNIQUE constraint failed" in str(refused.value)


def test_a_use_is_of_a_keg_or_of_a_line(keg):
    _refused(Use, "use_is_of_one_item", drink="Paloma", began_at=NOW)
    line = a_line(keg.venue)
    _refused(Use, "use_is_of_one_item", keg=keg, line=line, drink="Paloma", began_at=NOW)


def test_a_use_does_not_end_before_it_began(keg):
    rule = "use_ends_after_it_began"
    _refused(Use, rule, keg=keg, drink="Paloma", began_at=NOW, ended_at=BEFORE)


def test_a_keg_holds_one_drink_at_a_time(keg):
    Use.objects.create(keg=keg, drink="Paloma", began_at=BEFORE)
    rule = "keg_holds_one_drink_at_a_time"
    _refused(Use, rule, keg=keg, drink="Negroni", began_at=NOW)
    assert Use.objects.create(keg=keg, drink="Gone", began_at=BEFORE, ended_at=NOW).pk


def test_a_line_carries_one_drink_at_a_time(keg):
    line = a_line(keg.venue)
    Use.objects.create(line=line, drink="Paloma", began_at=BEFORE)
    _refused(Use, "line_carries_one_drink_at_a_time", line=line, drink="Negroni", began_at=NOW)


def test_a_keg_stands_in_one_place_at_a_time(keg):
    Placement.objects.create(keg=keg, place=a_place(keg.venue), began_at=BEFORE)
    rule = "keg_stands_in_one_place_at_a_time"
    _refused(Placement, rule, keg=keg, place=a_place(keg.venue), began_at=NOW)


def test_a_placement_does_not_end_before_it_began(keg):
    place, rule = a_place(keg.venue), "placement_ends_after_it_began"
    _refused(Placement, rule, keg=keg, place=place, began_at=NOW, ended_at=BEFORE)


@pytest.mark.parametrize(
    ("rule", "fields"),
    [
        ("keg_name_once_per_venue", {"name": "K7", "capacity_ml": 1}),
        ("keg_holds_something", {"name": "K8", "capacity_ml": 0}),
        ("keg_rating_is_positive", {"name": "K8", "capacity_ml": 1, "rated_gauge_pa": Decimal(0)}),
    ],
)
def test_a_keg_has_its_own_name_a_capacity_and_no_rating_of_nothing(keg, rule, fields):
    _refused(Keg, rule, venue=keg.venue, **fields)


def test_a_place_has_its_own_name(keg):
    place = a_place(keg.venue)
    _refused(Place, "place_name_once_per_venue", venue=keg.venue, name=place.name, kind="fridge")
