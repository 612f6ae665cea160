"""Whatever is typed, a person reads a sentence: never a traceback, never a figure of nonsense."""

import io
import itertools

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from hypothesis import given, settings
from hypothesis import strategies as st

from kegsafe.calculators.answering import ask
from kegsafe.calculators.calculator import Calculator, Choice, Input, Refused
from kegsafe.calculators.registry import CALCULATORS
from tests.builders import a_person, a_venue

NONSENSE = (
    "", " ", "nan", "NaN °C", "inf bar", "1e308", "1e308 L", "-1e308 psi", "9**9**8", "50",
    "50 pis", "5 lightyears", "1 oz/oz",
    "-5 L", "-3 m", "200 %", "-400 °C", "0 K", "-1 K", "36 F F", "1,000 psi", "1/0 L", "½", "⅓ oz",
    "[]", "[[]]", "{}", "null", '[["1 L"', "[" * 4000, "0x10 L", "1_000 L", "１０ L", "١٢ L", "\0",
    "<script>alert(1)</script>", "'; DROP TABLE keg; --", "%s%n", "{{ 7*7 }}", "L 5", "°C", "psi",
    "99999999999999999999 L", "1e-300 L", "5 furlongs", "4 °C\n5 °C", "𝟙 bar", "½½ oz", "--",
    "true", "5 %%", "5 L / 2", "٪", "0 L", "0 mm", "0 h", "1000 °C", "100 bar", "a" * 100_000,
)  # fmt: skip
CASES = [
    (calculator, each.key, nonsense)
    for calculator in CALCULATORS
    for each in calculator.inputs
    for nonsense in NONSENSE
]


def with_one_wrong(calculator: Calculator, key: str, nonsense: str) -> dict[str, str]:
    return {**calculator.example, key: nonsense}


def sentences_of(calculator: Calculator, typed: dict[str, str]) -> list[str] | None:
    """What a person reads, or None where there was an answer."""
    try:
        answered = ask(calculator, typed)
    except Refused as refused:
        return list(itertools.chain.from_iterable(refused.errors.values()))
    numbers = [each.value for each in answered.answer.results if isinstance(each.value, float)]
    assert all(number == number and abs(number) != float("inf") for number in numbers)
    assert all(each.text("us") for each in answered.answer.results)
    return None


def test_more_than_two_thousand_wrong_inputs_get_a_sentence_each():
    refused = 0
    for calculator, key, nonsense in CASES:
        sentences = sentences_of(calculator, with_one_wrong(calculator, key, nonsense))
        if sentences is None:
            continue
        refused += 1
        assert sentences
        assert all(sentence.strip()[-1] in ".?]" for sentence in sentences), sentences
        assert all(len(sentence) < 600 for sentence in sentences), sentences
    assert refused > 2000


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda each: each.name)
@given(data=st.data())
@settings(max_examples=40)
def test_random_text_gets_an_answer_or_a_sentence(calculator, data):
    key = data.draw(st.sampled_from([each.key for each in calculator.inputs]))
    number = st.one_of(
        st.floats().map(repr), st.integers().map(str), st.text(max_size=12), st.just("-0")
    )
    unit = st.sampled_from(("", "psi", "bar", "°C", "L", "%", "ppm", "kg/L", "h", "m", "oz", "g/L"))
    typed = data.draw(st.builds(lambda n, u: f"{n} {u}", number, unit))
    sentences = sentences_of(calculator, with_one_wrong(calculator, key, typed))
    assert sentences is None or all(sentences)


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda each: each.name)
def test_a_wrong_kind_of_quantity_is_refused_at_its_own_field(calculator):
    for each in calculator.inputs:
        if not isinstance(each, Input):
            continue
        wrong = "5 m2"  # no calculator asks for an area
        with pytest.raises(Refused) as refused:
            ask(calculator, with_one_wrong(calculator, each.key, wrong))
        assert "is an area" in refused.value.errors[each.key][0]


def test_a_choice_that_is_none_is_refused():
    carry_over = next(each for each in CALCULATORS if each.name == "carry-over")
    assert isinstance(carry_over.by_key["allergen"], Choice)
    with pytest.raises(Refused) as refused:
        ask(carry_over, {**carry_over.example, "allergen": "almnd"})
    assert "Did you mean almond?" in refused.value.errors["allergen"][0]


BY_THE_DOORS = CASES[:: max(1, len(CASES) // 300)]


def _said_by_the_command(name: str, arguments: list[str]) -> str:
    out = io.StringIO()
    try:
        call_command("calc", name, *arguments, stdout=out)
    except CommandError as refused:
        return str(refused)
    return out.getvalue()


def test_three_hundred_wrong_inputs_end_the_command_with_a_sentence():
    assert len(BY_THE_DOORS) >= 200
    for calculator, key, nonsense in BY_THE_DOORS:
        typed = with_one_wrong(calculator, key, nonsense)
        arguments = [f"{name}={text}" for name, text in typed.items()]
        assert _said_by_the_command(calculator.name, arguments).strip()


@pytest.mark.django_db
def test_three_hundred_wrong_inputs_leave_every_page_standing():
    client = Client(raise_request_exception=True)
    client.force_login(a_person(a_venue()))
    for calculator, key, nonsense in BY_THE_DOORS:
        typed = with_one_wrong(calculator, key, nonsense)
        send = client.post if calculator.has_lists else client.get
        for address in (
            f"/calculators/{calculator.name}/",
            f"/calculators/{calculator.name}/answer",
        ):
            response = send(address, typed)
            assert response.status_code == 200
            assert "Traceback" not in response.text
            assert "<script>alert" not in response.text
