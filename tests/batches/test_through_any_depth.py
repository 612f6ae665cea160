"""Random kitchens: whatever is made of what, nothing is lost on the way."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kegsafe.batches.facts import allergens_of
from kegsafe.batches.models import Draw
from kegsafe.batches.queries import behind_batches
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import Lot
from tests.builders import a_batch, a_lot, a_preparation, an_ingredient

pytestmark = pytest.mark.django_db

SOURCES = ("almond", "milk", "egg", "wheat", "celery")
within_one_bar = settings(
    max_examples=10,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

# Each step draws from some of the lots there are by then; the last one makes a batch of them.
steps = st.lists(
    st.lists(st.tuples(st.integers(0, 30), st.integers(1, 400)), min_size=1, max_size=3),
    min_size=1,
    max_size=5,
)


def work(venue, bought: list[Lot], kitchen) -> list[Lot]:
    """Make preparations as the steps say; a draw of too much is refused and leaves no trace."""
    lots = list(bought)
    for step in kitchen:
        chosen = {lots[place % len(lots)] for place, _ in step}
        try:
            made = a_preparation(venue, *chosen, drawn=Decimal(step[0][1]), amount=Decimal(800))
        except ValidationError:
            continue
        lots.append(made.lot)
    return lots


def sources_of(lots) -> set[str]:
    ingredients = Lot.objects.filter(pk__in=lots).values_list("ingredient_id", flat=True)
    return {fact.source for fact in allergens_of(frozenset(ingredients))[0]}


@within_one_bar
@given(kitchen=steps)
def test_inherited_allergens_are_a_superset_at_every_level(venue, kitchen):
    bought = [
        a_lot(venue, ingredient=an_ingredient(venue, allergens={source: ("contains", "")}))
        for source in SOURCES
    ]
    lots = work(venue, bought, kitchen)
    behind = behind_lots(lot.pk for lot in lots)
    for lot in lots[len(bought) :]:
        own = sources_of(behind[lot.pk] | {lot.pk})
        for drawn in Draw.objects.filter(preparation__lot=lot):
            assert sources_of(behind[drawn.lot_id] | {drawn.lot_id}) <= own
    batch = a_batch(venue, lots[-1], drawn=Decimal(1))
    in_batch = behind_batches([batch.pk])[batch.pk]
    assert sources_of(behind[lots[-1].pk] | {lots[-1].pk}) == sources_of(in_batch.lots)


@within_one_bar
@given(kitchen=steps)
def test_what_was_drawn_and_what_is_left_make_what_there_was(venue, kitchen):
    lots = work(venue, [a_lot(venue) for _ in range(3)], kitchen)
    for lot in Lot.objects.filter(pk__in=[each.pk for each in lots]):
        drawn = sum(Draw.objects.filter(lot=lot).values_list("amount", flat=True), Decimal(0))
        assert drawn + lot.amount_left == lot.amount_received
        assert lot.amount_left >= 0


@within_one_bar
@given(kitchen=steps)
def test_nothing_is_ever_behind_itself(venue, kitchen):
    lots = work(venue, [a_lot(venue) for _ in range(3)], kitchen)
    assert all(pk not in behind for pk, behind in behind_lots(lot.pk for lot in lots).items())
