"""A trace through the records: what is gathered, what it comes to, and at what cost."""

from decimal import Decimal

import pytest

from kegsafe.rules.tracing import Node, Sort
from kegsafe.stock import services as stock
from kegsafe.tracing.records import trace_fill, trace_lot
from tests.builders import a_batch, a_lot, a_preparation, a_recorder, a_venue
from tests.tracing.bar import a_traced_bar

pytestmark = [pytest.mark.django_db, pytest.mark.records]

FOR_A_LOT, FOR_A_FILL = 7, 7


@pytest.fixture
def bar():
    return a_traced_bar(a_venue())


class TestForward:
    def test_a_lot_is_followed_through_preparations_batch_and_kegs(self, bar):
        trace = trace_lot(bar.venue, bar.juice.pk)
        # 100 ml; two fifths of the syrup: 40; half of the cordial: 20; half of the batch each: 10.
        assert trace.reached == {
            Node(Sort.LOT, bar.juice.pk): 1000,
            Node(Sort.LOT, bar.syrup.pk): 100,
            Node(Sort.LOT, bar.cordial.pk): 40,
            Node(Sort.BATCH, bar.batch.pk): 20,
            Node(Sort.FILL, bar.on_tap.pk): 10,
            Node(Sort.FILL, bar.emptied.pk): 10,
        }
        assert [lot.lot_id for lot in trace.lots_made] == [bar.syrup.pk, bar.cordial.pk]

    def test_all_of_it_is_somewhere(self, bar):
        found = trace_lot(bar.venue, bar.juice.pk).whereabouts
        assert (found.in_stock, found.in_kegs, found.emptied) == (980, 10, 10)
        assert (found.not_filled, found.unexplained) == (0, 0)

    def test_what_is_discarded_is_lost_and_no_longer_left(self, bar):
        stock.discard_lot(lot=bar.juice, reason="Smelt wrong.", by=a_recorder(bar.venue))
        balance = trace_lot(bar.venue, bar.juice.pk).balance
        assert (balance.went, balance.left, balance.lost) == (100, 0, 900)
        assert balance.unexplained == 0

    def test_a_lot_made_here_shows_what_it_was_made_of_and_no_other_use_of_that(self, bar):
        a_batch(bar.venue, bar.juice)
        trace = trace_lot(bar.venue, bar.syrup.pk)
        assert [lot.lot_id for lot in trace.lots_behind] == [bar.juice.pk]
        assert [batch.batch_id for batch in trace.records.batches] == [bar.batch.pk]

    def test_another_bars_lot_is_not_there(self, bar):
        assert trace_lot(a_venue(), bar.juice.pk) is None


class TestBack:
    def test_a_keg_names_every_lot_supplier_and_document_behind_it(self, bar):
        trace = trace_fill(bar.venue, bar.on_tap.pk)
        assert trace.behind == {
            bar.juice.pk: 10,
            bar.syrup.pk: Decimal(50),
            bar.cordial.pk: 250,
            bar.spirit.pk: 250,
        }
        juice = trace.records.lot_by_id[bar.juice.pk]
        assert (juice.supplier, juice.supplier_code) == ("Harbour Wholesale", "J-14")
        assert juice.document == "HW 4711"

    def test_another_bars_fill_is_not_there(self, bar):
        assert trace_fill(a_venue(), bar.on_tap.pk) is None


def test_forward_and_back_agree_on_every_amount(bar):
    for fill in (bar.on_tap, bar.emptied):
        for lot, amount in trace_fill(bar.venue, fill.pk).behind.items():
            assert trace_lot(bar.venue, lot).reached[Node(Sort.FILL, fill.pk)] == amount


def test_a_long_trace_costs_as_many_queries_as_a_short_one(bar, django_assert_num_queries):
    lot = bar.cordial
    for _ in range(4):
        lot = a_preparation(bar.venue, lot, a_lot(bar.venue)).lot
        a_batch(bar.venue, lot)
    with django_assert_num_queries(FOR_A_LOT):
        assert len(trace_lot(bar.venue, bar.juice.pk).records.lots) == 7
    with django_assert_num_queries(FOR_A_FILL):
        assert len(trace_fill(bar.venue, bar.on_tap.pk).records.lots) == 4
