"""What every calculator owes the person who asks it."""

import pytest

from kegsafe.calculators.answering import ask
from kegsafe.calculators.calculator import Calculator, Input
from kegsafe.calculators.registry import CALCULATORS, by_subject

NAMES = {
    "carbonation", "carbonation-pressure", "warm-up", "gas-release", "cylinder-pressure",
    "cylinder-content", "pressure-decay", "blend-alcohol", "ethanol-density", "sulphite",
    "water-activity", "sugar-density", "line-volume", "line-flow", "dilution", "rinse",
    "carry-over", "boiling-point", "growth", "mean-kinetic-temperature",
}  # fmt: skip
PRESSURE = {"carbonation", "carbonation-pressure", "warm-up", "pressure-decay"}
GAS = {"gas-release", "cylinder-pressure", "cylinder-content"}
FORBIDDEN = ("approved", "certified", "compliant", " is safe")


def named(calculator: Calculator) -> str:
    return calculator.name


every_calculator = pytest.mark.parametrize("calculator", CALCULATORS, ids=named)


def test_the_twenty_calculators_of_the_trade_are_there_once_each():
    assert len(CALCULATORS) == len(NAMES)
    assert {each.name for each in CALCULATORS} == NAMES


@every_calculator
def test_each_says_what_it_does_where_it_comes_from_and_how_good_it_is(calculator):
    told = (
        calculator.purpose,
        calculator.relation,
        calculator.source,
        calculator.verified,
        calculator.range,
        calculator.uncertainty,
    )
    assert all(text.strip() for text in told)


@every_calculator
def test_each_carries_a_caution(calculator):
    assert calculator.cautions


@pytest.mark.parametrize("name", sorted(PRESSURE | GAS))
def test_whatever_touches_pressure_or_gas_defers_to_a_competent_person(name):
    (calculator,) = [each for each in CALCULATORS if each.name == name]
    cautions = " ".join(calculator.cautions)
    assert "competent person" in cautions
    assert "under pressure" in cautions


@every_calculator
def test_none_speaks_as_an_authority(calculator):
    answer = ask(calculator, calculator.example).answer
    texts = (*calculator.cautions, *answer.warnings, *(r.text("metric") for r in answer.results))
    said = " ".join(texts).lower()
    assert [word for word in FORBIDDEN if word in said] == []


@every_calculator
def test_each_input_that_may_stay_blank_says_what_a_blank_stands_for(calculator):
    silent = [
        each.key
        for each in calculator.inputs
        if not each.needed and not each.blank_means and each.key not in calculator.one_of
    ]
    shares = {"glucose", "fructose", "glycerol", "salt"}
    assert [key for key in silent if key not in shares] == []


@every_calculator
def test_the_example_gives_a_figure_first(calculator):
    first = ask(calculator, calculator.example).answer.results[0]
    assert isinstance(first.value, float | int)


@every_calculator
def test_no_two_results_of_an_answer_share_a_key(calculator):
    keys = [each.key for each in ask(calculator, calculator.example).answer.results]
    assert len(keys) == len(set(keys))


@every_calculator
def test_every_input_shows_at_least_one_unit_or_takes_a_plain_number(calculator):
    assert all(each.units for each in calculator.inputs if isinstance(each, Input))


def test_sugar_and_alcohol_left_blank_mean_plain_water():
    answered = ask(CALCULATORS[0], {"temperature": "2 °C", "pressure": "50 psi"})
    blanks = [blank for blank in answered.left_blank if "plain water" in blank]
    assert len(blanks) == 2


def test_a_word_finds_the_calculators_that_hold_it():
    found = {each.name for _, calculators in by_subject("keg warms") for each in calculators}
    assert found == {"warm-up"}


def test_a_word_of_no_calculator_finds_none():
    assert by_subject("xylophone") == []
