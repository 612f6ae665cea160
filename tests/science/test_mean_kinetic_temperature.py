"""Mean kinetic temperature: times weigh, warmth weighs more."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.mean_kinetic_temperature import (
    Hold,
    from_log,
    mean_kinetic_temperature_degc,
)
from kegsafe.science.ranges import OutsideRange

holds = st.lists(
    st.builds(Hold, st.floats(0.1, 100.0), st.floats(-5.0, 40.0)), min_size=1, max_size=12
)


@pytest.mark.parametrize(
    ("spans", "expected"),
    [
        ([(5, 23), (20, 1)], 6.55),
        ([(4, 4), (16, 1)], 8.11),
        ([(4, 18), (8, 6)], 5.20),
        ([(3, 12), (7, 12)], 5.24),
        ([(20, 2), (2, 4), (25, 1)], 15.68),
    ],
)
def test_spans_worked_by_hand(spans, expected):
    """Temperature in degC and hours; dH/R = 10,000 K. [computed]"""
    computed = mean_kinetic_temperature_degc([Hold(hours, degc) for degc, hours in spans])
    assert computed == pytest.approx(expected, abs=0.006)


@given(holds)
def test_it_is_never_below_the_time_weighted_mean(spans):
    total_h = sum(hold.hours for hold in spans)
    mean_degc = sum(hold.hours * hold.temperature_degc for hold in spans) / total_h
    assert mean_kinetic_temperature_degc(spans) >= mean_degc - 1e-6


@given(holds)
def test_it_lies_between_the_coldest_and_the_warmest(spans):
    degc = [hold.temperature_degc for hold in spans]
    assert min(degc) - 1e-6 <= mean_kinetic_temperature_degc(spans) <= max(degc) + 1e-6


@given(holds, st.floats(0.5, 4.0))
def test_only_the_shares_of_time_matter(spans, longer):
    stretched = [Hold(hold.hours * longer, hold.temperature_degc) for hold in spans]
    assert mean_kinetic_temperature_degc(stretched) == pytest.approx(
        mean_kinetic_temperature_degc(spans), abs=1e-6
    )


def test_a_log_of_even_readings_weighs_them_evenly_but_for_its_ends():
    log = [(0.0, 4.0), (1.0, 16.0), (2.0, 4.0)]
    same = [Hold(1.0, 4.0), Hold(1.0, 16.0)]
    assert from_log(log) == pytest.approx(mean_kinetic_temperature_degc(same))


@pytest.mark.parametrize(
    "log", [[], [(0.0, 5.0)], [(0.0, 5.0), (0.0, 6.0)], [(1.0, 5.0), (0.0, 5.0)]]
)
def test_a_log_without_a_span_has_no_temperature(log):
    with pytest.raises(OutsideRange):
        from_log(log)


@pytest.mark.parametrize(("hours", "degc"), [(-1.0, 5.0), (1.0, 85.0), (1.0, -127.0)])
def test_an_impossible_span_is_refused(hours, degc):
    with pytest.raises(OutsideRange):
        Hold(hours, degc)


def test_no_time_has_no_temperature():
    with pytest.raises(OutsideRange, match="time held"):
        mean_kinetic_temperature_degc([Hold(0.0, 5.0)])
