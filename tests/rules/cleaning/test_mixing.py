"""The working solution as a person measures it, inside its limits after rounding."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.cleaning.mixing import CannotMix, line_solution_ml, mix
from kegsafe.science.ranges import OutsideRange
from tests.rules.cleaning.cleaning_facts import d


def test_a_line_of_25_feet_with_a_two_gallon_bucket_takes_7_84_litres():
    """25 ft of 1/4 in: 241 ml, with tap and shank 271 ml, and 2 US gal of 7,571 ml. [computed]"""
    total = line_solution_ml(d("7.62"), d("6.35"), d(30), d(7571))
    assert total == pytest.approx(7842, abs=1)


def test_two_and_a_half_per_cent_caustic_from_a_ten_per_cent_stock():
    """The middle of 2 to 3 %; 10 % w/w at 1.1089 g/ml is 110,890 mg/l. [read density]"""
    found = mix(d(1000), d(110_890), d(20_000), d(30_000))
    assert (found.concentrate_ml, found.water_ml) == (225, 780)
    assert found.in_words == "225 ml of concentrate into 780 ml of water: 2.48 %"


def test_chlorine_from_bleach_aims_at_the_middle_of_its_band():
    """8.25 % bleach, 87.2 mg/ml available: 150 mg/l in 19 L takes 32.7 ml. [computed]"""
    found = mix(d(19_000), d(87_200), d(100), d(200))
    assert found.concentrate_ml == Decimal("32.5")
    assert found.in_words == "32.5 ml of concentrate into 18970 ml of water: 149 mg/l"


def test_without_a_top_it_aims_a_tenth_above_the_least():
    assert mix(d(1000), d(100_000), d(200), None).strength_mg_per_l >= 200


def test_a_stock_weaker_than_the_solution_cannot_be_mixed():
    with pytest.raises(CannotMix, match="weaker than the"):
        mix(d(1000), d(10_000), d(20_000), d(30_000))


def test_too_small_a_volume_to_measure_says_so():
    with pytest.raises(CannotMix, match="Make a larger volume"):
        mix(d(10), d(87_200), d(100), d(200))


@pytest.mark.parametrize("bore", [0, 2, 50])
def test_a_bore_that_no_line_has_is_refused(bore):
    with pytest.raises(OutsideRange, match="bore of line"):
        line_solution_ml(d(5), d(bore), d(30), d(0))


@given(
    total=st.integers(200, 100_000),
    stock=st.integers(50_000, 600_000),
    least=st.integers(50, 30_000),
    width=st.none() | st.integers(1, 20_000),
)
def test_what_is_measured_is_always_inside_the_limits(total, stock, least, width):
    most = None if width is None else least + width
    try:
        found = mix(d(total), d(stock), d(least), None if most is None else d(most))
    except CannotMix:
        return
    reached = found.concentrate_ml * stock / (found.concentrate_ml + found.water_ml)
    assert least - 1 <= reached
    assert most is None or reached <= most + 1
