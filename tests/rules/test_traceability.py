"""The rule of traceability of each food code, and the fields it asks for."""

import shutil

import pytest

from kegsafe.rules.codes import codes
from kegsafe.rules.tables import BadRuleData
from kegsafe.rules.traceability import FIELDS, load_traceability, rule_for
from kegsafe.science.tables import SHARED


@pytest.mark.parametrize("code", sorted(codes()))
def test_every_code_on_file_has_one_that_asks_for_supplier_food_and_day(code):
    asked = {element.field for element in rule_for(code).elements}
    assert asked >= {"supplier", "description", "received_on"}


def test_a_code_without_one_has_none():
    assert rule_for("atlantis") is None


def test_the_united_states_ask_for_what_their_rule_lists():
    """21 CFR 1.1345(a), the key data elements of receiving. [read]"""
    asked = [element.name for element in rule_for("us_fda_2022").elements]
    assert asked[:2] == ["Traceability lot code", "Quantity"]
    assert {element.field for element in rule_for("us_fda_2022").elements} == {*FIELDS, ""}


@pytest.mark.parametrize(
    ("file", "found", "written", "said"),
    [
        ("elements.csv", "supplier_lot_code,The supplier", "lot_kode,The supplier", "one of"),
        ("rules.csv", "eu england", "eu anz", "each code once"),
        ("rules.csv", "eu.178,eu", "eu.999,eu", "a rule that elements.csv has rows of"),
    ],
)
def test_a_row_that_is_wrong_is_named(tmp_path, file, found, written, said):
    folder = shutil.copytree(SHARED / "tracing", tmp_path / "tracing")
    text = (folder / file).read_text(encoding="utf-8")
    assert found in text
    (folder / file).write_text(text.replace(found, written, 1), encoding="utf-8")
    with pytest.raises(BadRuleData, match=said):
        load_traceability(folder)
