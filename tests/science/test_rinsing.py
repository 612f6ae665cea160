"""What a rinse leaves: bounds that hold, and no claim of clean."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.ranges import OutsideRange
from kegsafe.science.rinsing import (
    action_level_mg_per_kg,
    heel_after_rinses,
    heel_per_pour_mg,
    line_carry_over,
    reference_dose_mg,
    residual_fully_mixed,
    residual_plug_flow,
    residual_tanks_in_series,
    rinse_needed_ml,
)
from kegsafe.science.tables import rows


@pytest.mark.parametrize(
    ("rinse_ml", "plug_mg", "mixed_mg", "pour_mg"),
    [
        (0, 180, 180.0, 165.22),
        (40, 60, 92.42, 84.83),
        (60, 0, 66.22, 60.78),
        (120, 0, 24.36, 22.36),
        (180, 0, 8.96, 8.23),
        (300, 0, 1.213, 1.113),
        (312, 0, 0.993, 0.912),
        (450, 0, 0.0996, 0.0914),
        (600, 0, 0.0082, 0.0075),
    ],
)
def test_an_almond_drink_in_a_60_ml_line_worked_by_hand(rinse_ml, plug_mg, mixed_mg, pour_mg):
    """3 mg of protein a ml, pours of 150 ml; 180 mg stand in the line before the rinse."""
    carried = line_carry_over(60.0, 3.0, rinse_ml, 150.0)
    assert carried.plug_flow_mg == pytest.approx(plug_mg)
    assert carried.fully_mixed_mg == pytest.approx(mixed_mg, rel=5e-3)
    assert carried.first_pour_mg == pytest.approx(pour_mg, rel=5e-3)


def test_the_cautious_figure_puts_all_that_is_left_into_one_glass():
    carried = line_carry_over(60.0, 3.0, 300.0, 150.0)
    assert carried.cautious_pour_mg == carried.fully_mixed_mg > carried.first_pour_mg


@pytest.mark.parametrize(
    ("volumes", "factor"), [(2.3, 10), (4.6, 100), (6.9, 1_000), (9.2, 10_000), (11.5, 100_000)]
)
def test_stirred_volumes_for_each_factor_of_ten(volumes, factor):
    assert residual_fully_mixed(volumes) == pytest.approx(1 / factor, rel=0.02)


@pytest.mark.parametrize(
    ("tanks", "volumes"), [(1, 8.5), (2, 5.5), (3, 4.4), (5, 3.4), (10, 2.5), (20, 2.0), (50, 1.6)]
)
def test_volumes_that_thin_five_thousand_times_in_tanks_in_series(tanks, volumes):
    """Worked to one decimal, so the factor lies between those a tenth of a volume away."""
    assert residual_tanks_in_series(volumes + 0.06, tanks) < 1 / 5000
    assert residual_tanks_in_series(volumes - 0.06, tanks) > 1 / 5000


@given(st.floats(0.0, 50.0))
def test_one_tank_is_full_mixing(volumes):
    assert residual_tanks_in_series(volumes, 1) == pytest.approx(residual_fully_mixed(volumes))


@given(st.floats(0.0, 100.0))
def test_plug_flow_never_leaves_more_than_full_mixing(volumes):
    assert residual_plug_flow(volumes) <= residual_fully_mixed(volumes)


@given(st.floats(10.0, 500.0), st.floats(0.0, 20.0), st.floats(0.0, 5000.0), st.floats(1.0, 500.0))
def test_a_pour_never_takes_more_than_is_left(line_ml, protein, rinse_ml, pour_ml):
    carried = line_carry_over(line_ml, protein, rinse_ml, pour_ml)
    assert 0.0 <= carried.first_pour_mg <= carried.fully_mixed_mg <= line_ml * protein + 1e-9


@given(st.floats(10.0, 500.0), st.floats(0.1, 1000.0), st.floats(1e-3, 1.0))
def test_the_rinse_needed_leaves_what_was_asked(line_ml, start, share):
    rinse_ml = rinse_needed_ml(line_ml, start, start * share)
    assert start * residual_fully_mixed(rinse_ml / line_ml) == pytest.approx(start * share)


def test_a_content_already_low_enough_needs_no_rinse():
    assert rinse_needed_ml(60.0, 0.5, 1.0) == 0.0


@pytest.mark.parametrize(("rinses", "left_mg_per_l"), [(1, 952), (2, 45), (3, 2.2), (4, 0.10)])
def test_caustic_left_in_a_keg_after_drained_rinses(rinses, left_mg_per_l):
    """20,000 mg/l, 100 ml left after each drain, rinses of 2 litres; worked by hand."""
    computed = heel_after_rinses(100.0, 20_000.0, 2000.0, rinses)
    assert computed == pytest.approx(left_mg_per_l, rel=0.03)


def test_three_small_rinses_beat_one_large_one():
    small = heel_after_rinses(100.0, 20_000.0, 2000.0, 3)
    assert small < heel_after_rinses(100.0, 20_000.0, 6000.0, 1) / 100


def test_a_heel_under_a_full_keg_worked_by_hand():
    """30 ml of almond drink at 3 mg/ml under 19 l, 150 ml pours: 0.711 mg each."""
    assert heel_per_pour_mg(30.0, 3.0, 19_000.0, 150.0) == pytest.approx(0.711, abs=0.001)


def test_the_heel_that_alone_reaches_the_almond_dose():
    assert heel_per_pour_mg(42.2, 3.0, 19_000.0, 150.0) == pytest.approx(1.0, abs=0.001)


@pytest.mark.parametrize(
    ("dose_mg", "at_100_g", "at_150_g", "at_500_g"),
    [(1, 10.0, 6.67, 2.0), (2, 20.0, 13.33, 4.0), (200, 2000.0, 1333.33, 400.0)],
)
def test_action_levels_worked_by_hand(dose_mg, at_100_g, at_150_g, at_500_g):
    levels = [action_level_mg_per_kg(dose_mg, eaten_g) for eaten_g in (100, 150, 500)]
    assert levels == pytest.approx([at_100_g, at_150_g, at_500_g], abs=0.005)


def test_a_set_nobody_published_has_no_doses():
    assert reference_dose_mg("almond", "our own") is None


def test_no_source_has_two_doses_in_one_set():
    keys = [(row["set"], row["atom"]) for row in rows("science/allergen_reference_doses")]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize(
    "ask",
    [
        lambda: residual_plug_flow(-1.0),
        lambda: residual_fully_mixed(math.nan),
        lambda: residual_tanks_in_series(1.0, 0),
        lambda: rinse_needed_ml(60.0, 180.0, 0.0),
        lambda: line_carry_over(0.0, 3.0, 300.0, 150.0),
        lambda: heel_after_rinses(0.0, 3.0, 300.0, 1),
        lambda: heel_per_pour_mg(20_000.0, 3.0, 19_000.0, 150.0),
        lambda: action_level_mg_per_kg(1.0, 0.0),
    ],
)
def test_a_number_outside_reason_is_refused(ask):
    with pytest.raises(OutsideRange):
        ask()
