"""Amounts along the draws: forward and back are inverse, and everything adds up."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings

from kegsafe.rules.tracing import (
    Amounts,
    Drawn,
    Filled,
    LotAmounts,
    Node,
    Sort,
    Standing,
    amounts_behind,
    amounts_reached,
    balance_of_batch,
    balance_of_lot,
    depths,
    in_making_order,
    rounded_to_add_up,
    whereabouts,
)
from tests.rules.draw_graphs import by_every_way, draw_graphs

LOT, BATCH, FILL = Sort.LOT, Sort.BATCH, Sort.FILL
# Sixty figures are kept; what is compared differs in the last few at most.
AS_GOOD_AS_EQUAL = Fraction(1, 10**40)

# 10 L of juice: 4 L into 8 L of cordial (so half of it is juice), 1 L straight into a batch,
# 3 L left, 2 L thrown away. 6 L of the cordial into the 20 L of the batch (3 L of juice with
# it): 4 L of juice in 20 L. Kegs of 10 L and 5 L: 2 L and 1 L of juice; 1 L in what no keg took.
JUICE, CORDIAL, THE_BATCH, FIRST, SECOND = 1, 2, 1, 1, 2
A_JUICE = Amounts(
    lots={
        JUICE: LotAmounts(Decimal(10_000), Decimal(3_000), Decimal(2_000)),
        CORDIAL: LotAmounts(Decimal(8_000), Decimal(2_000)),
    },
    batches={THE_BATCH: Decimal(20_000)},
    fills={
        FIRST: Filled(THE_BATCH, Decimal(10_000)),
        SECOND: Filled(THE_BATCH, Decimal(5_000), Standing.EMPTIED),
    },
    draws=[
        Drawn(JUICE, Node(LOT, CORDIAL), Decimal(4_000)),
        Drawn(JUICE, Node(BATCH, THE_BATCH), Decimal(1_000)),
        Drawn(CORDIAL, Node(BATCH, THE_BATCH), Decimal(6_000)),
    ],
)


def whereabouts_of(amounts, lot):
    return whereabouts(amounts, lot, amounts_reached(amounts, lot))


class TestAWorkedExample:
    def test_forward(self):
        assert amounts_reached(A_JUICE, JUICE) == {
            Node(LOT, JUICE): 10_000,
            Node(LOT, CORDIAL): 4_000,
            Node(BATCH, THE_BATCH): 4_000,
            Node(FILL, FIRST): 2_000,
            Node(FILL, SECOND): 1_000,
        }

    def test_back_in_the_unit_of_each_lot(self):
        assert amounts_behind(A_JUICE, FIRST) == {JUICE: 2_000, CORDIAL: 3_000}

    def test_where_all_of_it_is(self):
        found = whereabouts_of(A_JUICE, JUICE)
        assert found.in_stock == 3_000 + 1_000  # a quarter of the cordial is left
        assert found.thrown_away == 2_000
        assert (found.in_kegs, found.emptied, found.discarded) == (2_000, 1_000, 0)
        assert found.not_filled == 1_000
        assert found.unexplained == 0

    def test_the_depth_of_each(self):
        assert depths(A_JUICE.draws, A_JUICE.fills) == {
            Node(LOT, JUICE): 0,
            Node(LOT, CORDIAL): 1,
            Node(BATCH, THE_BATCH): 2,
            Node(FILL, FIRST): 3,
            Node(FILL, SECOND): 3,
        }


class TestBalances:
    def test_what_came_in_is_drawn_left_or_lost(self):
        lot = LotAmounts(Decimal("700.5"), Decimal("200.25"))
        assert balance_of_lot(lot, [Decimal("500.25")]).unexplained == 0

    @pytest.mark.parametrize(("left", "unexplained"), [(100, 100), (200, 0), (300, -100)])
    def test_a_difference_is_shown_with_its_sign(self, left, unexplained):
        lot = LotAmounts(Decimal(700), Decimal(left))
        assert balance_of_lot(lot, [Decimal(500)]).unexplained == unexplained

    def test_what_no_keg_took_of_a_batch_is_unexplained(self):
        assert (
            balance_of_batch(Decimal(18_000), [Decimal(9_000), Decimal(8_500)]).unexplained == 500
        )


@given(draw_graphs())
def test_forward_and_back_are_inverse_and_as_reckoned_along_every_way(amounts):
    for fill in amounts.fills:
        back = amounts_behind(amounts, fill)
        for lot in amounts.lots:
            forward = amounts_reached(amounts, lot).get(Node(FILL, fill))
            assert (forward is None) == (lot not in back)
            on_paper = by_every_way(amounts, lot, fill)
            for found in (forward, back.get(lot)):
                assert abs(Fraction(found or 0) - on_paper) < AS_GOOD_AS_EQUAL


@given(draw_graphs())
def test_what_was_received_is_somewhere(amounts):
    """The parts add up to the whole, and the unexplained one to what each lot leaves open."""
    for lot, held in amounts.lots.items():
        reached = amounts_reached(amounts, lot)
        found = whereabouts(amounts, lot, reached)
        open_in_each = sum(
            Fraction(reached[Node(LOT, key)])
            * Fraction(_balance(amounts, key).unexplained)
            / Fraction(amounts.lots[key].received)
            for key in amounts.lots
            if Node(LOT, key) in reached
        )
        assert abs(Fraction(found.unexplained) - open_in_each) < AS_GOOD_AS_EQUAL
        parts = (
            *(found.in_stock, found.thrown_away, found.in_kegs, found.emptied, found.discarded),
            *(found.not_filled, found.unexplained),
        )
        assert min(parts) > -AS_GOOD_AS_EQUAL
        assert abs(sum(map(Fraction, parts)) - Fraction(held.received)) < AS_GOOD_AS_EQUAL


def _balance(amounts, lot):
    drawn = [draw.amount for draw in amounts.draws if draw.lot == lot]
    return balance_of_lot(amounts.lots[lot], drawn)


@given(draw_graphs())
def test_each_lot_comes_after_what_it_was_made_of(amounts):
    order = in_making_order(amounts.draws, amounts.lots)
    assert sorted(order) == sorted(amounts.lots)
    made = [(draw.lot, draw.into.key) for draw in amounts.draws if draw.into.sort is LOT]
    assert all(order.index(before) < order.index(after) for before, after in made)


@given(draw_graphs())
@settings(max_examples=50)
def test_rounded_parts_add_up_to_the_rounded_whole(amounts):
    for fill in amounts.fills:
        behind = amounts_behind(amounts, fill)
        rounded = rounded_to_add_up(behind)
        whole = sum(behind.values(), Decimal(0))
        assert sum(rounded.values()) == whole.quantize(Decimal("0.001"))
        assert all(abs(rounded[lot] - behind[lot]) < Decimal("0.001") for lot in behind)


def test_a_lot_that_was_drawn_from_more_than_it_held_shows_below_zero():
    draws = [Drawn(JUICE, Node(BATCH, 1), Decimal(900))]
    amounts = Amounts({JUICE: LotAmounts(Decimal(700), Decimal(0))}, {1: Decimal(900)}, {}, draws)
    assert whereabouts_of(amounts, JUICE).unexplained == -200


def test_a_circle_in_a_tampered_record_ends_and_leaves_its_amounts_unexplained():
    lots = {key: LotAmounts(Decimal(100), Decimal(0)) for key in (1, 2, 3)}
    draws = [
        Drawn(1, Node(LOT, 2), Decimal(40)),
        Drawn(2, Node(LOT, 3), Decimal(50)),
        Drawn(3, Node(LOT, 2), Decimal(50)),
    ]
    assert in_making_order(draws) == (1,)
    assert whereabouts_of(Amounts(lots, {}, {}, draws), 1).unexplained == 100
