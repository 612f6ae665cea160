"""A prepared query answers as the ORM does, and its SQL is worked out once."""

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from kegsafe.frame.prepared_queries import Prepared
from kegsafe.ledger.models import Entry
from tests.builders import a_keg, a_venue

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def people():
    return [User.objects.create_user(f"person {number}") for number in range(5)]


def _by_key_or_name(keys, names):
    found = User.objects.filter(pk__in=keys) | User.objects.filter(username__in=names)
    return found.order_by("username").values("pk", "username", "date_joined", "is_active")


def test_it_returns_the_rows_the_orm_returns(people):
    prepared = Prepared(_by_key_or_name)
    keys = [person.pk for person in people]
    for wanted in (keys[:1], keys[:2], keys[:3], keys):
        for names in ([], ["person 4"], ["person 4", "nobody"]):
            assert prepared(keys=wanted, names=names) == list(_by_key_or_name(wanted, names))


def test_values_come_as_the_orm_gives_them():
    """Decimals with their places, moments with their zone: what a raw row of SQLite is not."""
    venue = a_venue()
    a_keg(venue)

    def build(venues):
        return venue.kegs.filter(venue__pk__in=venues).values("capacity_ml", "rated_gauge_pa")

    assert Prepared(build)(venues=[venue.pk]) == list(build([venue.pk]))


def test_what_can_match_nothing_is_not_asked(django_assert_num_queries):
    prepared = Prepared(lambda keys: Entry.objects.filter(pk__in=keys).values("pk"))
    with django_assert_num_queries(0):
        assert prepared(keys=[]) == []


def test_lists_of_five_to_eight_values_share_one_sql(people):
    prepared = Prepared(lambda keys: User.objects.filter(pk__in=keys).values("pk"))
    first = people[0].pk
    with CaptureQueriesContext(connection) as asked:
        for length in (5, 6, 7, 8):
            prepared(keys=range(first, first + length))
    assert len(prepared.compiled) == 1
    assert len(asked) == 4


def test_a_value_is_never_read_as_sql(people):
    prepared = Prepared(lambda names: User.objects.filter(username__in=names).values("pk"))
    assert prepared(names=["person 1' OR '1'='1"]) == []
