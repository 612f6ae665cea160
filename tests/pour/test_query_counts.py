"""The pour check asks the database the same few questions in the first week and in the tenth year.

Counted is the whole request: the session, the person with their roles, and six for the facts.
"""

import pytest
from django.urls import reverse

from kegsafe.benchmarks.bar import open_bar
from kegsafe.benchmarks.crowd import add_finished_batches, add_full_kegs
from kegsafe.pour.queries import open_keg_views
from tests.query_counts import queries_of

MOST_QUERIES = 8

pytestmark = pytest.mark.django_db


@pytest.fixture
def bar():
    """A keg on tap: nested preparations, things for the glass, readings and cleaning behind it."""
    return open_bar()


@pytest.fixture
def visitor(client, bar):
    """Somebody signed in at the bar."""
    client.force_login(bar.person)
    return client


def test_a_pour_check_makes_at_most_eight_queries_with_ten_batches(
    bar, visitor, django_assert_max_num_queries
):
    add_finished_batches(bar, 10)
    with django_assert_max_num_queries(MOST_QUERIES):
        page = visitor.get(reverse("pour-check", args=[bar.keg.label_code]))
    assert page.status_code == 200
    assert "Almond" in page.content.decode()


def test_a_pour_check_makes_no_more_queries_with_ten_thousand_batches(bar, visitor):
    url = reverse("pour-check", args=[bar.keg.label_code])
    with_few = queries_of(visitor, url)
    add_finished_batches(bar, 10_000)
    assert queries_of(visitor, url) == with_few <= MOST_QUERIES


def test_the_list_of_kegs_makes_as_many_queries_for_thirty_as_for_one(bar, visitor):
    with_one = queries_of(visitor, reverse("pour-search"))
    add_full_kegs(bar, 29)
    assert len(open_keg_views(bar.venue)) == 30
    assert queries_of(visitor, reverse("pour-search")) == with_one <= MOST_QUERIES


def test_gathering_thirty_kegs_takes_six_queries(bar, django_assert_num_queries):
    add_full_kegs(bar, 29)
    with django_assert_num_queries(6):
        assert len(open_keg_views(bar.venue)) == 30
