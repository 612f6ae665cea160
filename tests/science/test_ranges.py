"""Outside its range a relation gives no number, and says which range it was."""

import math
import pickle

import pytest

from kegsafe.science.ranges import OutsideRange, within


@pytest.mark.parametrize("value", [0.0, 20.0, 40.0, 40])
def test_both_ends_of_a_range_belong_to_it(value):
    assert within("temperature", value, 0.0, 40.0, "degC") == value


@pytest.mark.parametrize("value", [-0.001, 40.001, math.nan, math.inf, -math.inf])
def test_anything_else_is_refused_even_what_is_not_a_number(value):
    with pytest.raises(OutsideRange) as caught:
        within("temperature", value, 0.0, 40.0, "degC")
    assert (caught.value.name, caught.value.low, caught.value.high) == ("temperature", 0.0, 40.0)
    assert caught.value.unit == "degC"


def test_infinity_is_refused_although_the_range_has_no_upper_end():
    with pytest.raises(OutsideRange):
        within("time", math.inf, 0.0, math.inf, "h")


def test_the_sentence_names_the_value_and_the_range():
    with pytest.raises(
        OutsideRange, match="strength must lie from 0 to 100 % vol; it was 140 % vol"
    ):
        within("strength", 140.0, 0.0, 100.0, "% vol")


def test_a_plain_ratio_has_no_unit_in_its_sentence():
    with pytest.raises(OutsideRange, match=r"mass fraction must lie from 0 to 1; it was 2\."):
        within("mass fraction", 2.0, 0.0, 1.0)


def test_the_error_survives_being_copied_to_another_process():
    error = OutsideRange("strength", 140.0, 0.0, 100.0, "% vol")
    assert str(pickle.loads(pickle.dumps(error))) == str(error)  # noqa: S301
