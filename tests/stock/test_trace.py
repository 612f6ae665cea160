"""From a lot to what it went into: the amounts on its page add up."""

from decimal import Decimal

import pytest
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.venues.models import Role
from tests.builders import a_lot, an_ingredient
from tests.query_counts import queries_of


def prepare_from(lot, by, number: int) -> None:
    """Make so many preparations, each from 50 ml of a lot."""
    cordial = an_ingredient(lot.venue, made_in_house=True, category="sugar_syrup")
    for _ in range(number):
        batches.make_preparation(
            venue=lot.venue,
            ingredient=cordial,
            began_at=timezone.now(),
            finished_at=None,
            business_date=None,
            draws=[(lot, Decimal(50), "50 ml")],
            amount=Decimal(50),
            amount_typed="50 ml",
            measure=cordial.measure,
            place=None,
            method="",
            by=by,
        )


@pytest.fixture
def manager(signed_in):
    return signed_in(Role.MANAGER)


def test_a_lot_names_each_preparation_it_went_into_and_the_sums_agree(venue, by, manager):
    lot = a_lot(venue)
    prepare_from(lot, by, 2)
    context = manager.get(lot.get_absolute_url()).context
    assert sum(draw.amount for draw in context["draws"]) == context["drawn"] == Decimal(100)
    assert context["drawn"] + context["lot"].amount_left == context["lot"].amount_received


def test_a_lot_that_went_into_much_costs_no_more_queries(venue, by, manager):
    lot = a_lot(venue)
    prepare_from(lot, by, 1)
    few = queries_of(manager, lot.get_absolute_url())
    prepare_from(lot, by, 10)
    assert queries_of(manager, lot.get_absolute_url()) == few
