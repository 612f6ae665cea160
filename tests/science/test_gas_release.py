"""CO2 let loose in a room.

Worked figures: computed for this project by a separate program. [computed]
"""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.gas_release import (
    decayed_ppm,
    full_release,
    gas_volume_m3,
    hours_to_decay,
    leak_ppm,
    least_room_m3,
    steady_leak_ppm,
    ventilation_for_leak_m3_per_h,
)
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.tables import rows

masses = st.floats(0.1, 100.0)
room_sizes = st.floats(5.0, 5000.0)


@pytest.mark.parametrize(("t", "m3"), [(0, 0.5093), (15, 0.5373), (20, 0.5466), (25, 0.5559)])
def test_a_kilogram_makes_the_worked_volume(t, m3):
    assert gas_volume_m3(1.0, t) == pytest.approx(m3, abs=0.0001)


@pytest.mark.parametrize("t", range(-20, 51, 5))
def test_the_volume_errs_to_the_careful_side_of_the_real_gas_by_less_than_a_hundredth(t):
    """Span and Wagner 1996 as coded in CoolProp 8.0.0."""
    real = 1.0 / PropsSI("D", "T", t + 273.15, "P", 101325.0, "CO2")
    assert real < gas_volume_m3(1.0, t) < 1.01 * real


def test_a_fourteen_pound_cylinder_in_fifty_cubic_metres():
    release = full_release(6.35, 50.0)
    assert release.gas_m3 == pytest.approx(3.471, abs=0.001)
    assert release.screening_ppm == pytest.approx(69_400, abs=100)
    assert release.mixed_ppm == pytest.approx(67_100, abs=100)
    assert release.oxygen_percent == pytest.approx(19.50, abs=0.01)


def test_ten_kilograms_in_a_cellar_of_forty_cubic_metres_is_above_the_deadly_level():
    release = full_release(10.0, 40.0)
    assert release.screening_ppm == pytest.approx(136_700, abs=500)
    assert release.mixed_ppm == pytest.approx(128_000, abs=500)
    (lethal,) = [r for r in rows("science/co2_exposure") if "lowest lethal" in r["limit_name"]]
    assert release.mixed_ppm > float(lethal["ppm"])


def test_ten_per_cent_of_co2_leaves_nearly_all_the_oxygen():
    """So an oxygen meter alone does not protect."""
    room = gas_volume_m3(10.0) / -math.log(0.9)
    assert full_release(10.0, room).oxygen_percent == pytest.approx(18.8, abs=0.05)


def test_more_gas_than_room_is_all_gas():
    assert full_release(100.0, 10.0).screening_ppm == 1_000_000


@pytest.mark.parametrize(
    ("kg", "line"),
    [
        (2.27, (248, 83, 41)),
        (4.54, (496, 165, 83)),
        (6.35, (694, 231, 116)),
        (9.07, (992, 331, 165)),
        (10.0, (1093, 364, 182)),
        (22.7, (2482, 827, 414)),
    ],
)
def test_each_cylinder_needs_the_worked_room(kg, line):
    rooms = [least_room_m3(kg, ppm, background_ppm=0.0) for ppm in (5000, 15_000, 30_000)]
    assert rooms == pytest.approx(line, abs=1.0)


@pytest.mark.parametrize(("ppm", "m3"), [(5000, 118.8), (15_000, 37.4), (30_000, 18.5)])
def test_the_gas_already_in_the_air_makes_the_room_larger(ppm, m3):
    assert least_room_m3(1.0, ppm) == pytest.approx(m3, abs=0.06)


@pytest.mark.parametrize(
    ("start", "changes", "minutes"),
    [(50_000, 6, 23.8), (50_000, 2, 71.3), (137_000, 10, 20.3), (137_000, 2, 101.7)],
)
def test_ventilation_takes_the_worked_minutes(start, changes, minutes):
    hours = hours_to_decay(start, 5000, changes)
    assert 60 * hours == pytest.approx(minutes, abs=0.1)


def test_half_an_hour_at_six_changes_leaves_the_worked_ppm():
    assert decayed_ppm(50_000, 6, 0.5) == pytest.approx(2869, abs=5)


def test_a_room_below_the_limit_needs_no_time():
    assert hours_to_decay(4000, 5000, 6) == 0.0


@pytest.mark.parametrize(
    ("changes", "hours", "ppm"),
    [(0.5, 1, 5758), (0.5, 2, 8985), (0.5, 4, 12_101), (0.0, 2, 13_967), (0.0, 8, 53_572)],
)
def test_a_leak_of_half_a_kilogram_an_hour_builds_up_as_worked(changes, hours, ppm):
    assert leak_ppm(500, 40, changes, hours) == pytest.approx(ppm, abs=20)


@pytest.mark.parametrize(("changes", "ppm"), [(0.5, 13_875), (6.0, 1537), (0.0, 1_000_000)])
def test_a_leak_ends_at_the_worked_level(changes, ppm):
    assert steady_leak_ppm(500, 40, changes) == pytest.approx(ppm, abs=5)


@pytest.mark.parametrize(("grams", "m3_per_h"), [(100, 11.9), (500, 59.4), (1000, 118.8)])
def test_a_leak_needs_the_worked_ventilation(grams, m3_per_h):
    assert ventilation_for_leak_m3_per_h(grams, 5000) == pytest.approx(m3_per_h, abs=0.1)


def test_no_leak_and_no_ventilation_leave_the_air_as_it_was():
    assert leak_ppm(0, 40, 0, 10) == steady_leak_ppm(0, 40, 0) == 400


@given(masses, room_sizes, room_sizes)
def test_a_larger_room_is_never_worse(kg, one, other):
    smaller, larger = sorted((one, other))
    assert full_release(kg, larger).screening_ppm <= full_release(kg, smaller).screening_ppm


@given(masses, room_sizes)
def test_the_screening_figure_is_never_below_the_mixed_one(kg, room):
    release = full_release(kg, room)
    assert release.screening_ppm >= release.mixed_ppm


@given(masses, st.floats(1000.0, 100_000.0))
def test_the_least_room_just_reaches_its_limit(kg, limit):
    room = least_room_m3(kg, limit, background_ppm=0.0)
    if 1.0 <= room <= 100_000.0:
        assert full_release(kg, room).screening_ppm == pytest.approx(limit)


@given(st.floats(5000.0, 900_000.0), st.floats(1000.0, 4999.0), st.floats(0.1, 50.0))
def test_after_the_hours_to_decay_the_limit_is_met(start, limit, changes):
    hours = hours_to_decay(start, limit, changes)
    assert decayed_ppm(start, changes, hours) == pytest.approx(limit)


@given(st.floats(1.0, 5000.0), room_sizes, st.floats(0.0, 20.0), st.floats(0.0, 100.0))
def test_a_leak_never_passes_the_level_it_ends_at(grams, room, changes, hours):
    steady = steady_leak_ppm(grams, room, changes)
    assert 400 - 1e-6 <= leak_ppm(grams, room, changes, hours) <= steady + 1e-6


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: full_release(-1.0, 40.0), "mass of CO2 must lie from 0 to 5000 kg; it was -1 kg."),
        (lambda: full_release(10.0, 0.0), "room volume must lie from 1 to 100000 m3; it was 0 m3."),
        (
            lambda: full_release(10.0, 40.0, 60.0),
            "room temperature must lie from -20 to 50 degC; it was 60 degC.",
        ),
        (
            lambda: least_room_m3(10.0, 400.0),
            "CO2 limit must lie from 401 to 1e+06 ppm; it was 400 ppm.",
        ),
        (
            lambda: hours_to_decay(50_000, 5000, 0.0),
            "air changes per hour must lie from 0.01 to 100; it was 0.",
        ),
        (
            lambda: decayed_ppm(300.0, 6.0, 1.0),
            "CO2 at the start must lie from 400 to 1e+06 ppm; it was 300 ppm.",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(call, sentence):
    with pytest.raises(OutsideRange) as refused:
        call()
    assert str(refused.value) == sentence
