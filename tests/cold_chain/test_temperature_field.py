"""A temperature with its unit beside it: a bare number is enough, a typed unit wins."""

from decimal import Decimal

import pytest
from django import forms

from kegsafe.cold_chain.temperature_field import TemperatureField


class OneForm(forms.Form):
    """One place."""

    walk_in = TemperatureField(name="Walk-in", units="us", required=False)
    must = TemperatureField(name="Bar", units="metric", required=False)


def _read(typed, unit):
    form = OneForm({"walk_in_0": typed, "walk_in_1": unit})
    form.is_valid()
    return form


@pytest.mark.parametrize(
    ("typed", "unit", "degc"),
    [
        ("3.2", "°C", "3.2"),
        ("3,2", "°C", "3.2"),
        ("-18", "°C", "-18"),
        # NIST SP 811 (2008), appendix B.9: (t/°F - 32)/1.8. [memory]
        ("41", "°F", "5"),
        ("41 F", "°C", "5"),
        ("5 °C", "°F", "5"),
        ("5c", "°F", "5"),
    ],
)
def test_a_typed_unit_wins_over_the_one_beside_it(typed, unit, degc):
    assert _read(typed, unit).cleaned_data["walk_in"].value == Decimal(degc)


def test_nothing_typed_is_not_recorded_rather_than_zero():
    assert _read("", "°F").cleaned_data["walk_in"] is None


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("cold", "cold"),
        ("3 psi", "a temperature belongs here"),
        ("-400 °C", "below absolute zero"),
        ("3.2.1", "3.2.1"),
        ("inf", "inf"),
        ("9**9**9", "9**9**9"),
        ("3 °", "°"),
    ],
)
def test_what_cannot_be_read_is_told_and_kept(typed, said):
    form = _read(typed, "°F")
    assert said in form.errors["walk_in"][0]
    shown = form.as_div()
    assert f'value="{typed}"' in shown
    assert '<option value="°F" selected>' in shown


def test_a_unit_that_is_not_offered_is_refused():
    assert "kelvin is not one" in _read("3", "kelvin").errors["walk_in"][0]


def test_the_unit_of_the_venue_is_chosen_at_first():
    shown = OneForm().as_div()
    assert '<option value="°F" selected>' in shown
    assert '<option value="°C" selected>' in shown


def test_each_unit_is_spoken_with_its_place():
    assert 'aria-label="Unit of the thermometer, Walk-in"' in OneForm().as_div()
