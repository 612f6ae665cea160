"""What a plot says: in numbers before it is drawn, and in words beside it."""

import itertools
from xml.etree import ElementTree

import pytest

from kegsafe.calculators.answering import ask, plot
from kegsafe.calculators.plot_drawing import NARROW, WIDE, svg
from kegsafe.calculators.registry import BY_NAME, CALCULATORS

PLOTTED = [each for each in CALCULATORS if each.plot]
WARM = {
    "keg": "19 L", "liquid": "17 L", "temperature": "2 °C", "pressure": "50 psi",
    "new_temperature": "20 °C", "rated": "9 bar", "relief": "7 bar",
}  # fmt: skip


def words(drawn: str) -> str:
    return " ".join("".join(ElementTree.fromstring(drawn).itertext()).split())


@pytest.mark.parametrize("calculator", PLOTTED, ids=lambda each: each.name)
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_each_plot_names_both_axes_with_their_units(calculator, units, size):
    shown = plot(calculator, calculator.example, units)
    drawn = words(svg(shown, units, size))
    assert shown.title in drawn
    assert shown.x.heading(units) in drawn
    assert shown.y.heading(units) in drawn


def test_where_looking_beats_reading_there_is_a_plot():
    assert {each.name for each in PLOTTED} == {
        "carbonation", "carbonation-pressure", "warm-up", "gas-release", "water-activity",
    }  # fmt: skip


def test_the_point_of_the_plot_is_the_answer():
    warm_up = BY_NAME["warm-up"]
    pressure = ask(warm_up, WARM).answer.results[0].value
    assert plot(warm_up, WARM, "metric").point == (20.0, pytest.approx(pressure))


def test_rating_and_relief_setting_are_marked():
    levels = {each.name: each.at for each in plot(BY_NAME["warm-up"], WARM, "metric").levels}
    assert levels == {"rated pressure": pytest.approx(9.0), "relief setting": pytest.approx(7.0)}


def test_a_keg_that_swells_full_is_drawn_up_to_there():
    brim = {**WARM, "liquid": "18.99 L", "new_temperature": "40 °C"}
    shown = plot(BY_NAME["warm-up"], brim, "metric")
    assert shown.point is None
    assert "full of liquid first" in shown.sentence
    assert svg(shown, "metric")


def test_the_room_plot_carries_the_limits_of_exposure_in_force():
    shown = plot(BY_NAME["gas-release"], {"mass": "10 kg", "room": "40 m3"}, "metric")
    assert [each.name for each in shown.levels] == [
        "OSHA PEL 0.5 %", "NIOSH IDLH 4 %", "WEL short term 1.5 %",
    ]  # fmt: skip


def test_the_water_activity_plot_carries_the_bounds_of_the_codes():
    shown = plot(BY_NAME["water-activity"], {"brix": "50 Brix"}, "metric")
    assert {each.at for each in shown.levels} >= {0.88, 0.90, 0.91, 0.92, 0.95}


def test_no_two_names_beside_a_plot_are_written_upon_each_other():
    shown = plot(BY_NAME["water-activity"], {"brix": "50 Brix"}, "metric")
    drawn = ElementTree.fromstring(svg(shown, "metric", NARROW))
    marks = {f"{each.at:g}" for each in shown.levels}
    heights = sorted(
        float(each.get("y"))
        for each in drawn.iter()
        if each.tag.endswith("text") and "".join(each.itertext()).strip() in marks
        and float(each.get("x")) > 200
    )  # fmt: skip
    assert all(b - a >= 14.9 for a, b in itertools.pairwise(heights))
