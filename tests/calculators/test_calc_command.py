"""`manage.py calc`: the calculators for scripts."""

import io
import json
import shlex

import pytest
from django.core.management import CommandError, call_command

from kegsafe.calculators.calculator import Calculator
from kegsafe.calculators.management.commands.calc import example_line
from kegsafe.calculators.registry import CALCULATORS

SHAPE = ["name", "inputs", "result", "range", "uncertainty", "source", "verified", "cautions"]


def calc(*arguments: str) -> str:
    out = io.StringIO()
    call_command("calc", *arguments, stdout=out)
    return out.getvalue()


def refusal(*arguments: str) -> str:
    with pytest.raises(CommandError) as refused:
        calc(*arguments)
    assert refused.value.returncode == 2
    return str(refused.value)


def named(calculator: Calculator) -> str:
    return calculator.name


def test_calc_alone_lists_every_calculator_on_a_line_of_its_own():
    lines = calc().splitlines()
    for each in CALCULATORS:
        assert any(line.startswith(f"  {each.name} ") and each.purpose in line for line in lines)


@pytest.mark.parametrize("calculator", CALCULATORS, ids=named)
def test_the_example_in_each_help_runs(calculator):
    example = example_line(calculator)
    assert example in calc(calculator.name, "--help")
    assert calculator.title in calc(*shlex.split(example)[3:])


@pytest.mark.parametrize("calculator", CALCULATORS, ids=named)
def test_each_help_names_every_input_with_its_units(calculator):
    said = " ".join(calc(calculator.name, "--help").split())
    assert all(f"{each.key} {each.label}" in said for each in calculator.inputs)


@pytest.mark.parametrize("calculator", CALCULATORS, ids=named)
def test_json_has_one_shape_for_all(calculator):
    printed = json.loads(calc(*shlex.split(example_line(calculator))[3:], "--json"))
    assert list(printed) == SHAPE
    assert printed["result"]
    assert all(list(each) == ["value", "unit"] for each in printed["result"].values())


def test_json_gives_the_inputs_in_their_base_units():
    printed = json.loads(calc("carbonation", "temperature=36 °F", "pressure=50 psi", "--json"))
    assert printed["inputs"]["temperature"].endswith("°C")
    assert printed["inputs"]["pressure"].endswith("Pa gauge")


def test_a_readable_answer_shows_both_unit_systems_source_range_and_cautions():
    said = calc("carbonation-pressure", "temperature=2 °C", "volumes=4 volumes")
    assert "1.58 bar (22.9 psi) gauge" in said
    assert all(word in said for word in ("Relation", "Source", "Range", "Uncertainty", "Caution"))


def test_us_units_come_first_when_asked_for():
    said = calc("carbonation-pressure", "temperature=2 °C", "volumes=4 volumes", "--units=us")
    assert "22.9 psi (1.58 bar) gauge" in said


def test_parts_come_from_a_file(tmp_path):
    parts = tmp_path / "parts.csv"
    parts.write_text("700 mL,40 %\n300 mL,0 %\n", encoding="utf-8")
    assert "28.04 % vol" in calc("blend-alcohol", "--parts", str(parts))


def test_a_log_comes_from_a_file_as_a_spreadsheet_saves_it(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("time (h);temperature (°C)\n0;5,0\n1;5,0\n", encoding="utf-8-sig")
    assert "5 °C" in calc("mean-kinetic-temperature", "--log", str(log))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["carbonatoin"], "Did you mean carbonation?"),
        (["xylophone"], "calc alone lists them all"),
        (["carbonation", "temperature=2 °C"], "Gauge pressure of the CO2 is missing"),
        (["carbonation", "2 °C"], 'has no key. Write it like this: temperature="2 degC"'),
        (["carbonation", "temprature=2 °C"], "Did you mean temperature?"),
        (["carbonation", "temperature=1 °C", "temperature=2 °C"], "given twice"),
        (["carbonation", "temperature=50 psi", "pressure=50 psi"], "a temperature belongs here"),
        (["carbonation", "--parts", "x.csv"], "reads no file with --parts"),
        (["blend-alcohol", "--parts", "no-such-file.csv"], "No such file"),
        (["blend-alcohol", "--parts", "a\0b"], "cannot be read"),
        (["blend-alcohol", "--parts", "."], "cannot be read"),
    ],
)
def test_nonsense_ends_with_a_sentence_and_status_two(arguments, said):
    assert said in refusal(*arguments)


def test_a_huge_file_is_not_read(tmp_path):
    log = tmp_path / "log.csv"
    log.write_bytes(b"0 h, 4 C\n" * 300_000)
    assert "larger than 2 MB" in refusal("growth", "--log", str(log))


def test_a_file_that_is_no_text_is_refused(tmp_path):
    log = tmp_path / "log.xlsx"
    log.write_bytes(b"PK\x03\x04\xff\xfe\x00")
    assert "no text in UTF-8" in refusal("growth", "--log", str(log))
