"""`manage.py trace`: the same trace as the pages, for scripts and for a telephone call."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tests.builders import a_lot, a_venue
from tests.tracing.bar import a_traced_bar

pytestmark = pytest.mark.django_db


@pytest.fixture
def bar():
    return a_traced_bar(a_venue(units="metric"))


def _said(*arguments):
    printed = StringIO()
    call_command("trace", *arguments, stdout=printed)
    return printed.getvalue()


def test_a_lot_is_followed_to_its_kegs_by_our_code_or_the_suppliers(bar):
    for code in (bar.juice.code, "j-14"):
        said = _said(code)
        assert "In stock: 980 ml" in said
        assert "Difference not explained: 0 ml" in said
        assert f"keg {bar.on_tap.keg.name}: Highball" in said
        assert f"tap {bar.on_tap.tappings.get().tap.name} from" in said


def test_a_keg_is_followed_back_by_its_name_or_its_label_code(bar):
    for code in (bar.on_tap.keg.name, bar.on_tap.keg.label_code):
        said = _said(code)
        assert "Lots behind it: 4" in said
        assert "from Harbour Wholesale, supplier's code J-14" in said


def test_as_json_amounts_are_exact_and_add_up(bar):
    (said,) = json.loads(_said("J-14", "--json"))
    assert said["lot"]["received"] == "1000.000"
    assert said["where"] == {
        "In stock": "980.000",
        "In kegs": "10.000",
        "Kegs emptied": "10.000",
    }
    assert said["not_explained"] == "0.000"
    assert {keg["state"] for keg in said["kegs"]} == {"in_keg", "emptied"}


def test_every_lot_with_the_suppliers_code_is_told(bar):
    a_lot(bar.venue, supplier_lot_code="J-14")
    assert len(json.loads(_said("J-14", "--json"))) == 2


def test_a_code_on_nothing_is_refused_with_what_would_be_right(bar):
    with pytest.raises(CommandError, match="our lot code, the supplier's") as refused:
        _said("J-1")
    assert refused.value.returncode == 2


def test_another_bars_code_is_on_nothing(bar):
    other = a_venue(name="The Other Finch")
    with pytest.raises(CommandError, match="No lot and no keg"):
        _said("J-14", "--venue", other.name)
