"""Freezing pauses the count for what was in the freezer, and for nothing else.

FDA Food Code 3-501.18(A): the time a product is frozen is left out. [read, as adopted]
The worked case is a state handout's: day 1 on 1 October, frozen on 3 October, thawed on
10 October; with every date that was not frozen whole counted, the last date is 13 October, and
14 October where the day of freezing is left out.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.date_marking import FrozenSpan, counted_last_date
from kegsafe.rules.frozen_time import Drawn, frozen_within


def october(day):
    return date(2026, 10, day)


WORKED = FrozenSpan(october(3), october(10))


def last_date(spans, convention="conservative"):
    return counted_last_date(october(1), 7, spans, convention)


def brought(*draws, into="keg", **spans):
    found = frozen_within(into, [Drawn(*draw) for draw in draws], spans)
    return {lot: time.spans for lot, time in found.items()}


def test_what_was_drawn_after_the_thaw_brings_its_frozen_time_along():
    spans = brought(("syrup", "keg", october(11)), syrup=[WORKED])["syrup"]
    assert last_date(spans) == october(13)
    assert last_date(spans, "north_carolina") == october(14)


@pytest.mark.parametrize(("day", "is_paused"), [(2, False), (3, False), (9, False), (10, True)])
def test_what_was_drawn_before_the_thaw_was_never_frozen(day, is_paused):
    spans = brought(("syrup", "keg", october(day)), syrup=[WORKED])["syrup"]
    assert last_date(spans) == (october(13) if is_paused else october(7))


def test_a_lot_still_in_the_freezer_counts_as_never_frozen():
    still = FrozenSpan(october(3), None)
    assert brought(("syrup", "keg", october(11)), syrup=[still]) == {"syrup": ()}


def test_cream_in_a_syrup_is_frozen_with_the_syrup():
    found = brought(("cream", "syrup", october(2)), ("syrup", "keg", october(11)), syrup=[WORKED])
    assert found == {"cream": (WORKED,), "syrup": (WORKED,)}


def test_cream_that_was_added_after_the_thaw_was_not_frozen_with_the_syrup():
    found = brought(("cream", "syrup", october(10)), ("syrup", "keg", october(11)), syrup=[WORKED])
    assert found["cream"] == ()


def test_cream_that_froze_after_the_syrup_was_made_of_it_brings_nothing():
    found = brought(("cream", "syrup", october(2)), ("syrup", "keg", october(11)), cream=[WORKED])
    assert found["cream"] == ()


def test_of_two_ways_the_one_that_was_not_frozen_decides():
    found = brought(
        ("cream", "syrup", october(2)),
        ("syrup", "keg", october(11)),
        ("cream", "keg", october(11)),
        syrup=[WORKED],
    )
    assert found["cream"] == ()


def test_a_lot_in_stock_counts_its_own_time_for_all_behind_it():
    assert brought(("cream", "syrup", october(2)), into="syrup", syrup=[WORKED]) == {
        "cream": (WORKED,)
    }


def test_another_drink_that_drew_earlier_takes_nothing_away():
    found = brought(
        ("syrup", "keg", october(11)), ("syrup", "other keg", october(2)), syrup=[WORKED]
    )
    assert found == {"syrup": (WORKED,)}


lots = st.sampled_from("abcd")
days = st.integers(1, 28).map(october)
frozen = st.tuples(days, st.none() | days).filter(
    lambda span: span[1] is None or span[1] >= span[0]
)
draws = st.lists(
    st.tuples(lots, st.sampled_from([*"abcd", "keg"]), days)
    .filter(lambda draw: draw[1] == "keg" or draw[0] > draw[1])
    .map(lambda draw: Drawn(*draw)),
    max_size=8,
)


@given(draws, st.dictionaries(lots, st.lists(frozen.map(lambda each: FrozenSpan(*each)))))
def test_no_lot_brings_more_than_was_recorded_and_one_draw_more_never_lengthens(drawn, spans):
    recorded = {span for each in spans.values() for span in each if span.thawed_on}
    whole = frozen_within("keg", drawn, spans)
    for time in whole.values():
        assert set(time.spans) <= recorded
    for left_out in range(len(drawn)):
        fewer = frozen_within("keg", drawn[:left_out] + drawn[left_out + 1 :], spans)
        for lot, time in fewer.items():
            assert set(whole[lot].spans) <= set(time.spans)
