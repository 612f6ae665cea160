"""A preparation that was frozen: what its count of days comes to in stock and in a keg.

FDA Food Code 3-501.17(A) and (B): seven days, the day of preparing being day 1. [read]
3-501.18(A): the time it is frozen is left out. [read] Every date on which it was not frozen
whole counts, as in a state handout's case: prepared on the 1st, frozen on the 3rd, thawed on the
10th, last date the 13th.
"""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from kegsafe.batches.facts import drink_facts
from kegsafe.pour.queries import keg_view
from kegsafe.rules.use_by import use_by
from kegsafe.stock import services
from kegsafe.stock.facts import house
from kegsafe.stock.standing import standings
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
    a_keg,
    a_lot,
    a_preparation,
    a_recipe,
    a_recorder,
    a_venue,
    an_ingredient,
)


@pytest.fixture
def bar(db):
    return a_venue()


@pytest.fixture
def on(bar):
    """Return noon of a day of October 2025 at the bar."""
    return lambda day, hour=12: datetime(2025, 10, day, hour, tzinfo=bar.zone)


@pytest.fixture
def syrup(bar, on):
    """A preparation that needs cold, begun on 1 October of a spirit bought in September."""
    spirit = a_lot(bar, received_at=on(1) - timedelta(days=9))
    cream_syrup = an_ingredient(
        bar, category="dairy", made_in_house=True, allergen_list_basis="", name="Cream syrup"
    )
    return a_preparation(bar, spirit, ingredient=cream_syrup, began_at=on(1)).lot


def freeze(lot, on, first=3, last=10):
    by = a_recorder(lot.venue)
    services.freeze_lot(lot=lot, frozen_at=on(first), by=by)
    if last is not None:
        services.thaw_lot(lot=lot, thawed_at=on(last), by=by)


def ends_on(lot, at):
    [standing] = standings([lot], lot.venue, at)
    return standing.ends_at.date().day


def keg_ends_on(batch, filled_at):
    at_house = house(batch.venue)
    drink = drink_facts(batch, filled_at=filled_at, at_house=at_house).drink
    dates = [each for each in use_by(drink, at_house).candidates if "Cream syrup" in each.because]
    return min(each.ends_at for each in dates).date().day


def a_drink(lot, at):
    return a_batch(lot.venue, lot, made_at=at, recipe=a_recipe(lot.venue, lot.ingredient))


def test_frozen_and_thawed_it_keeps_the_days_it_had_left(syrup, on):
    assert ends_on(syrup, on(2)) == 7
    freeze(syrup, on)
    assert ends_on(syrup, on(11)) == 13
    [standing] = standings([syrup], syrup.venue, on(11))
    assert "with 6 days left out in which it was frozen" in standing.binding.because


@pytest.mark.parametrize("last", [None, 3])
def test_still_frozen_or_thawed_the_same_day_it_gains_nothing(syrup, on, last):
    """No whole date in the freezer is on record."""
    if last is None:
        freeze(syrup, on, last=None)
    else:
        by = a_recorder(syrup.venue)
        services.freeze_lot(lot=syrup, frozen_at=on(3, 8), by=by)
        services.thaw_lot(lot=syrup, thawed_at=on(3, 20), by=by)
    assert ends_on(syrup, on(5)) == 7


def test_the_keg_filled_after_the_thaw_has_the_days_the_syrup_had_left(syrup, on):
    freeze(syrup, on)
    assert keg_ends_on(a_drink(syrup, on(11)), on(11)) == 13


def test_the_keg_filled_before_the_freezing_gains_nothing_by_it(syrup, on):
    batch = a_drink(syrup, on(2))
    freeze(syrup, on)
    assert keg_ends_on(batch, on(2)) == 7


def test_what_the_syrup_was_made_of_is_frozen_with_it(bar, on):
    cream = an_ingredient(bar, category="dairy", name="Cream")
    bought = a_lot(bar, ingredient=cream, received_at=on(1, 8), arrival_temperature_degc=Decimal(3))
    made = an_ingredient(
        bar, category="dairy", made_in_house=True, allergen_list_basis="", name="Cream syrup"
    )
    syrup = a_preparation(bar, bought, ingredient=made, began_at=on(1)).lot
    freeze(syrup, on)
    assert ends_on(syrup, on(11)) == 13
    freeze(bought, on, first=12, last=20)
    assert ends_on(syrup, on(21)) == 13


def test_the_pour_check_counts_as_the_fill_did(bar, syrup, on):
    batch = a_drink(syrup, on(2))
    keg = a_keg(bar)
    a_clean(bar, keg, cleaned_at=on(2, 9))
    fill = a_fill(bar, batch=batch, keg=keg, filled_at=on(2, 13))
    freeze(syrup, on)
    drink = keg_view(bar, fill.keg.label_code, timezone.now()).facts.fill.drink
    assert [part.frozen for part in drink.parts] == [(), ()]


def test_without_frozen_time_there_is_no_query_more(syrup, on, django_assert_num_queries):
    batch = a_drink(syrup, on(2))
    at_house = house(batch.venue)
    batch = type(batch).objects.select_related("recipe__assessment").get(pk=batch.pk)
    with django_assert_num_queries(6):
        drink_facts(batch, filled_at=on(2), at_house=at_house)
    freeze(syrup, on)
    with django_assert_num_queries(7):
        drink_facts(batch, filled_at=on(2), at_house=at_house)


def test_a_second_thaw_does_not_begin_a_shelf_life_anew(bar, on):
    """Freezing never resets a date: the first thaw is the one that counts."""
    cream = an_ingredient(bar, category="dairy", name="Cream")
    bought = a_lot(bar, ingredient=cream, received_at=on(1), arrival_temperature_degc=Decimal(3))
    services.add_shelf_life(
        ingredient=cream,
        after="thawed",
        days=3,
        basis="maker_label",
        by=a_recorder(bar),
    )
    freeze(bought, on, first=2, last=10)
    assert ends_on(bought, on(10, 13)) == 12
    freeze(bought, on, first=11, last=20)
    assert ends_on(bought, on(20, 13)) == 20
