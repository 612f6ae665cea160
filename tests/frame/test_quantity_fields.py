"""A field takes a quantity as typed, keeps it, and says what was wrong."""

from decimal import Decimal

import pytest
from django import forms

from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.quantities import Kind, Quantity, read


class GaugeForm(forms.Form):
    pressure = QuantityField(
        kind=Kind.GAUGE_PRESSURE, minimum=Decimal(0), maximum=Decimal(896_318), required=False
    )


def error(typed: str):
    form = GaugeForm({"pressure": typed})
    assert not form.is_valid()
    return form.errors.as_data()["pressure"][0]


def test_a_reading_becomes_a_quantity():
    form = GaugeForm({"pressure": " 50 psi "})
    assert form.is_valid()
    assert form.cleaned_data["pressure"] == read("50 psi", Kind.GAUGE_PRESSURE)


def test_an_empty_field_is_not_recorded():
    form = GaugeForm({"pressure": "  "})
    assert form.is_valid()
    assert form.cleaned_data["pressure"] is None


def test_a_required_field_says_so():
    form = forms.Form({})
    form.fields["pressure"] = QuantityField(kind=Kind.GAUGE_PRESSURE)
    assert form.errors.as_data()["pressure"][0].code == "required"


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("50", "missing_unit"),
        ("50 pis", "unknown_unit"),
        ("50 psia", "wrong_kind"),
        ("nan", "not_a_number"),
        ("9" * 5000, "too_long"),
        ("-9 bar", "out_of_range"),
        ("-1 psi", "below_minimum"),
        ("131 psi", "above_maximum"),
    ],
)
def test_each_trouble_has_its_code(typed, code):
    assert error(typed).code == code


def test_the_sentence_stands_at_the_field_and_the_text_stays_in_it():
    form = GaugeForm({"pressure": "50"})
    page = form.as_p()
    assert "has no unit. Write the gauge reading with one: 50 psi or 3.45 bar." in page
    assert 'value="50"' in page


def test_a_limit_is_said_in_both_systems():
    assert error("131 psi").message == (
        '"131 psi" is more than this field takes. Write at most 8.96 bar (130 psi) gauge.'
    )
    assert error("-1 psi").message == (
        '"-1 psi" is less than this field takes. Write at least 0 kPa (0 psi) gauge.'
    )


def test_the_limit_itself_is_taken():
    assert GaugeForm({"pressure": "0 psi"}).is_valid()
    assert GaugeForm({"pressure": "896318 Pa"}).is_valid()


def test_a_limit_needs_one_kind():
    with pytest.raises(ValueError, match="one kind"):
        QuantityField(kind=(Kind.VOLUME, Kind.MASS), minimum=Decimal(1))


def test_the_keyboard_has_letters_and_the_browser_remembers_nothing():
    page = GaugeForm().as_p()
    assert 'inputmode="text"' in page
    assert 'autocomplete="off"' in page


def test_the_help_shows_a_right_answer():
    assert GaugeForm().fields["pressure"].help_text == "For example 50 psi or 3.45 bar."
    both = QuantityField(kind=(Kind.VOLUME, Kind.MASS))
    assert both.help_text == "For example 19 L or 250 g."


def test_a_stored_quantity_is_shown_as_it_was_typed():
    typed = GaugeForm(initial={"pressure": read("50 psig", Kind.GAUGE_PRESSURE)})
    assert 'value="50 psig"' in typed.as_p()
    reckoned = GaugeForm(initial={"pressure": Quantity(Kind.GAUGE_PRESSURE, Decimal(345_000))})
    assert 'value="345000 Pa gauge"' in reckoned.as_p()


def test_a_field_left_alone_has_not_changed():
    initial = {"pressure": read("50 psig", Kind.GAUGE_PRESSURE)}
    assert not GaugeForm({"pressure": "50 psig"}, initial=initial).has_changed()
    assert GaugeForm({"pressure": "51 psig"}, initial=initial).has_changed()


def test_markup_in_the_text_stays_text():
    assert "<script>" not in GaugeForm({"pressure": "5 <script>"}).as_p()
