"""Forward from a lot, back from a fill: what is reached, and never another bar's."""

import pytest

from kegsafe.batches import services as batches
from kegsafe.tracing.queries import fills_from, lots_behind_fill, lots_from
from tests.builders import (
    a_batch,
    a_fill,
    a_lot,
    a_place,
    a_preparation,
    a_recorder,
    a_tapping,
    a_venue,
)

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def venue():
    return a_venue()


class TestForwardFromALot:
    def test_reaches_what_was_made_of_it_at_any_depth_and_itself(self, venue):
        first = a_lot(venue)
        second = a_preparation(venue, first).lot
        third = a_preparation(venue, second).lot
        a_preparation(venue)
        assert lots_from(venue, [first.pk]) == {first.pk, second.pk, third.pk}
        assert lots_from(venue, [second.pk]) == {second.pk, third.pk}

    def test_reaches_fills_through_preparations_and_at_first_hand(self, venue):
        juice = a_lot(venue)
        cordial = a_preparation(venue, juice).lot
        through = a_fill(venue, batch=a_batch(venue, cordial))
        at_first_hand = a_fill(venue, batch=a_batch(venue, juice))
        a_fill(venue)
        found = {fill.fill_id for fill in fills_from(venue, [juice.pk])}
        assert found == {through.pk, at_first_hand.pk}

    def test_a_batch_that_two_ways_lead_to_is_told_once(self, venue):
        juice = a_lot(venue)
        cordial = a_preparation(venue, juice).lot
        fill = a_fill(venue, batch=a_batch(venue, juice, cordial))
        assert [each.fill_id for each in fills_from(venue, [juice.pk])] == [fill.pk]

    def test_tells_the_keg_its_place_and_each_time_on_a_tap(self, venue):
        lot = a_lot(venue)
        cooler = a_place(venue, name="Cold corner")
        fill = a_fill(venue, batch=a_batch(venue, lot), place=cooler)
        on_tap = a_tapping(venue, fill=fill)
        (found,) = fills_from(venue, [lot.pk])
        assert (found.keg, found.place, found.volume_ml) == (fill.keg.name, "Cold corner", 9000)
        assert [(each.tap, each.until) for each in found.poured] == [(on_tap.tap.name, None)]

        batches.untap(tapping=on_tap, at=on_tap.began_at, by=a_recorder(venue))
        again = a_tapping(venue, fill=fill)
        (found,) = fills_from(venue, [lot.pk])
        assert [each.tap for each in found.poured] == [on_tap.tap.name, again.tap.name]

    def test_a_discarded_fill_stands_nowhere(self, venue):
        lot = a_lot(venue)
        fill = a_fill(venue, batch=a_batch(venue, lot), place=a_place(venue))
        batches.discard_fill(fill=fill, reason="Smelt wrong.", by=a_recorder(venue))
        (found,) = fills_from(venue, [lot.pk])
        assert (found.state, found.is_open, found.place) == ("discarded", False, "")
        assert found.state_reason == "Smelt wrong."


class TestBackFromAFill:
    def test_reaches_every_lot_behind_it(self, venue):
        first = a_lot(venue)
        second = a_preparation(venue, first).lot
        other = a_lot(venue)
        fill = a_fill(venue, batch=a_batch(venue, second, other))
        a_lot(venue)
        assert lots_behind_fill(venue, fill.pk) == {first.pk, second.pk, other.pk}


class TestAnotherBar:
    def test_its_lots_and_fills_are_never_reached(self, venue):
        other = a_venue()
        lot = a_lot(other)
        fill = a_fill(other, batch=a_batch(other, lot))
        assert lots_from(venue, [lot.pk]) == frozenset()
        assert fills_from(venue, [lot.pk]) == ()
        assert lots_behind_fill(venue, fill.pk) == frozenset()


def test_nothing_asked_is_nothing_found_and_costs_no_query(venue, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert lots_from(venue, []) == frozenset()
        assert fills_from(venue, []) == ()


def test_each_walk_is_one_query(venue, django_assert_num_queries):
    lot = a_lot(venue)
    fill = a_fill(venue, batch=a_batch(venue, a_preparation(venue, lot).lot))
    with django_assert_num_queries(3):
        assert len(lots_from(venue, [lot.pk])) == 2
        assert len(fills_from(venue, [lot.pk])) == 1
        assert len(lots_behind_fill(venue, fill.pk)) == 2
