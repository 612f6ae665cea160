"""Parts and logs as people bring them."""

import pytest

from kegsafe.calculators.calculator import Refused
from kegsafe.calculators.drinks import BLEND_ALCOHOL
from kegsafe.calculators.lists import MOST_PARTS, MOST_READINGS, read_log, read_parts
from kegsafe.calculators.temperature import MEAN_KINETIC_TEMPERATURE

PARTS = BLEND_ALCOHOL.by_key["parts"]
LOG = MEAN_KINETIC_TEMPERATURE.by_key["log"]


def volumes_ml(text: str) -> list[int]:
    return [int(row[0].value) for row in read_parts(PARTS, text)]


@pytest.mark.parametrize(
    "text",
    [
        '[["700 mL", "40 %"], ["300 mL", "0 %"]]',
        "700 mL, 40 %\n300 mL, 0 %",
        "700 mL; 40 %; 0 g/L\n300 mL; 0 %;",
        "700 mL\t40 %\r\n300 mL\t0 %\r\n\r\n",
    ],
)
def test_parts_come_as_json_or_one_a_line(text):
    assert volumes_ml(text) == [700, 300]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[]", "The list is empty."),
        ('[["700 mL"', "no list in JSON: it breaks off at character 11"),
        ('{"volume": "700 mL"}', "not a list of rows"),
        ("[[700, 40]]", "between quotes"),
        ('[["700 mL"]]', "Row 1 has 1 cells."),
        ('[["700 mL", "40 %", "0 g/L", "?"]]', "Row 1 has 4 cells."),
        ('[["700 mL", "40 %"], ["50 psi", "0 %"]]', "Row 2: "),
        ('[["", "40 %"]]', "Row 1 has no volume."),
        ("[" * 5000, "no list in JSON"),
        ("1 ml, 1 %\n" * (MOST_PARTS + 1), f"at most {MOST_PARTS} are taken"),
    ],
)
def test_a_list_that_cannot_be_read_says_where_and_what_belongs_there(text, said):
    with pytest.raises(Refused) as refused:
        read_parts(PARTS, text)
    assert said in refused.value.errors["parts"][0]


@pytest.mark.parametrize(
    "text",
    [
        "0 h, 4 °C\n30 min, 41 °F",
        "time (h),temperature (°C)\n0,4\n0.5,5",
        "at; reading [degC]\n2026-04-07T18:00; 4,0\n2026-04-07T18:30; 5,0",
        "2026-04-07 18:30:00+02:00, 5 °C\n2026-04-07 16:00:00+00:00, 4 °C",
    ],
)
def test_a_log_is_read_in_hours_and_degrees_in_order_of_time(text):
    assert read_log(LOG, text) == [(0.0, 4.0), (0.5, 5.0)]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time,temperature", "The log is empty"),
        ("0 h, 4 °C\n1 h", "Line 2 has 1 cell"),
        ("0 h, 4 °C\n1 h, warm", "Line 2: "),
        ("07/04/2026 18:30, 4 °C", "Write a moment as 2026-04-07 18:30"),
        ("0 h, 4", "has no unit"),
        ("0 h, -300 °C", "below absolute zero"),
        ("0 h, 4 °C\n2026-04-07 18:30, 5 °C", "Use one kind"),
        ("2026-04-07 18:30, 4 °C\n2026-04-07 19:30+00:00, 5 °C", "carry their offset"),
        ("0 h, 4 °C\n0 min, 5 °C", "Two readings stand at one time"),
        ("0 h, 4 °C\n" * (MOST_READINGS + 1), f"at most {MOST_READINGS} are taken"),
        ("x" * 2_000_001, "longer than two million characters"),
    ],
)
def test_a_log_that_cannot_be_read_says_which_line(text, said):
    with pytest.raises(Refused) as refused:
        read_log(LOG, text)
    assert said in refused.value.errors["log"][0]
