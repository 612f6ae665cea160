"""The pressure-decay leak test.

Worked figures: computed for this project by a separate program. [computed]
"""

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.pressure_decay import leak_test
from kegsafe.science.ranges import OutsideRange


def five_litres(**given_readings):
    readings = {
        "volume_l": 5.0,
        "start_bar_abs": 4.4,
        "start_degc": 20.0,
        "end_bar_abs": 4.4,
        "end_degc": 20.0,
        "hours": 12.0,
    }
    return leak_test(**{**readings, **given_readings})


def test_a_drop_that_the_cold_alone_explains_is_no_leak():
    cooled = five_litres(start_bar_abs=4.413, start_degc=22.0, end_bar_abs=4.263, end_degc=12.0)
    assert cooled.corrected_drop_bar == pytest.approx(0.0, abs=0.001)
    assert not cooled.is_visible


def test_a_tenth_of_a_bar_in_twelve_hours_is_the_worked_leak():
    test = five_litres(end_bar_abs=4.3)
    assert test.leak_g_per_h == pytest.approx(0.0752, rel=0.01)
    assert test.leak_mbar_l_per_s == pytest.approx(0.0116, rel=0.01)


def test_a_small_line_loses_the_worked_gas():
    test = five_litres(volume_l=2.0, end_bar_abs=4.337, hours=1.0)
    assert test.leak_g_per_h == pytest.approx(0.227, rel=0.01)


@pytest.mark.parametrize(
    ("error_bar", "hours", "grams_per_h"),
    [(0.05, 0.5, 0.90), (0.05, 12.0, 0.038), (0.16, 12.0, 0.12)],
)
def test_a_drop_of_one_gauge_error_is_the_worked_leak(error_bar, hours, grams_per_h):
    test = five_litres(end_bar_abs=4.4 - error_bar, hours=hours)
    assert test.leak_g_per_h == pytest.approx(grams_per_h, rel=0.015)


def test_two_readings_each_with_an_error_hide_more_than_one_error():
    """Root of two errors squared: the usual rule for a difference (GUM, JCGM 100). [memory]"""
    test = five_litres(pressure_error_bar=0.05, temperature_error_degc=0.01, hours=0.5)
    assert test.smallest_visible_g_per_h == pytest.approx(0.90 * 2**0.5, rel=0.02)


def test_one_degree_moves_the_pressure_by_fifteen_millibar():
    warmer = five_litres(end_degc=21.0)
    assert warmer.corrected_drop_bar == pytest.approx(0.015, abs=0.0005)


def test_a_short_test_with_a_dial_gauge_sees_only_a_large_leak():
    short, long = five_litres(hours=0.5), five_litres(hours=12.0)
    assert short.smallest_visible_g_per_h == pytest.approx(24 * long.smallest_visible_g_per_h)


def test_a_leak_above_the_smallest_visible_is_visible():
    assert five_litres(end_bar_abs=4.0).is_visible
    assert not five_litres(end_bar_abs=4.3).is_visible


def test_a_rise_is_told_as_a_rise():
    assert five_litres(end_bar_abs=4.5).corrected_drop_bar == pytest.approx(-0.1)
    assert not five_litres(end_bar_abs=4.5).is_visible


@pytest.mark.parametrize(("bar", "low_by"), [(5.0, 0.055), (12.0, 0.135)])
def test_the_leak_of_real_gas_is_higher_by_no_more_than_the_docstring_says(bar, low_by):
    """Span and Wagner 1996 as coded in CoolProp 8.0.0, at 20 degC."""
    kg_per_m3 = [PropsSI("D", "T", 293.15, "P", p * 1e5, "CO2") for p in (bar, bar - 0.1)]
    real = 5.0 * (kg_per_m3[0] - kg_per_m3[1]) / 12.0
    ours = five_litres(start_bar_abs=bar, end_bar_abs=bar - 0.1).leak_g_per_h
    assert (1.0 - low_by) * real < ours < real


def test_real_gas_cooled_by_ten_degrees_feigns_the_drop_the_docstring_says():
    """Span and Wagner 1996 as coded in CoolProp 8.0.0."""
    density = PropsSI("D", "T", 295.15, "P", 4.413e5, "CO2")
    cold = PropsSI("P", "T", 285.15, "D", density, "CO2") / 1e5
    test = five_litres(start_bar_abs=4.413, start_degc=22.0, end_bar_abs=cold, end_degc=12.0)
    assert test.corrected_drop_bar == pytest.approx(0.008, abs=0.001)


@given(st.floats(1.0, 12.0), st.floats(-10.0, 50.0), st.floats(-10.0, 50.0))
def test_gas_that_only_changes_temperature_never_leaks(bar, start_degc, end_degc):
    end = bar * (end_degc + 273.15) / (start_degc + 273.15)
    if 0.5 <= end <= 12.0:
        test = five_litres(
            start_bar_abs=bar, start_degc=start_degc, end_bar_abs=end, end_degc=end_degc
        )
        assert test.leak_g_per_h == pytest.approx(0.0, abs=1e-12)


@given(st.floats(1.0, 12.0), st.floats(1.0, 12.0), st.floats(1.0, 12.0))
def test_a_deeper_drop_is_never_a_smaller_leak(start, one, other):
    deeper, shallower = sorted((one, other))
    leaks = [
        five_litres(start_bar_abs=start, end_bar_abs=end).leak_g_per_h
        for end in (deeper, shallower)
    ]
    assert leaks[0] >= leaks[1]


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        (
            {"end_bar_abs": 0.0},
            "pressure at the end must lie from 0.5 to 12 bar absolute; it was 0 bar absolute.",
        ),
        (
            {"start_bar_abs": 20.0},
            "pressure at the start must lie from 0.5 to 12 bar absolute; it was 20 bar absolute.",
        ),
        ({"hours": 0.0}, "test time must lie from 0.05 to 500 h; it was 0 h."),
        ({"volume_l": 0.0}, "gas volume must lie from 0.01 to 1000 L; it was 0 L."),
        (
            {"end_degc": float("inf")},
            "temperature at the end must lie from -10 to 50 degC; it was inf degC.",
        ),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_a_sentence(readings, sentence):
    with pytest.raises(OutsideRange) as refused:
        five_litres(**readings)
    assert str(refused.value) == sentence
