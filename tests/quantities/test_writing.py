"""What people see of a quantity."""

from decimal import Decimal

import pytest

from kegsafe.quantities import Kind, as_measured, read, rounded_as_measured, write, write_exact


def both(text: str, kind: Kind, units="metric") -> str:
    return write(read(text, kind).value, kind, units, both=True)


@pytest.mark.parametrize(
    ("typed", "kind", "metric"),
    [
        ("50 psi", Kind.GAUGE_PRESSURE, "3.45 bar (50 psi) gauge"),
        ("14.7 psia", Kind.ABSOLUTE_PRESSURE, "1.014 bar (14.7 psi) absolute"),
        ("36 °F", Kind.TEMPERATURE, "2.2 °C (36 °F)"),
        ("4 °C", Kind.TEMPERATURE, "4 °C (39.2 °F)"),
        ("-18 °C", Kind.TEMPERATURE, "-18 °C (-0.4 °F)"),
        ("19 L", Kind.VOLUME, "19 L (5.02 gal)"),
        ("44 ml", Kind.VOLUME, "44 ml (1.49 fl oz)"),
        ("1 lb", Kind.MASS, "453.6 g (1 lb)"),
        ("3.5 vol", Kind.CO2_VOLUMES, "3.5 volumes"),
        ("12 Brix", Kind.SUGAR, "12 °Brix"),
        ("3.40", Kind.PH, "3.4 pH"),
        ("12", Kind.NUMBER, "12"),
        ("30 m3", Kind.ROOM_VOLUME, "30 m3 (1059.4 ft3)"),
    ],
)
def test_both_systems_are_shown_where_they_differ(typed, kind, metric):
    assert both(typed, kind) == metric


def test_a_us_venue_sees_its_own_units_first():
    assert both("50 psi", Kind.GAUGE_PRESSURE, "us") == "50 psi (3.45 bar) gauge"


def test_one_system_alone_still_says_gauge():
    assert write(Decimal(345000), Kind.GAUGE_PRESSURE, "metric") == "3.45 bar gauge"


def test_a_reading_above_a_limit_is_not_shown_as_the_limit():
    """41 °F is 5 °C; 5.2 °C is 41.36 °F."""
    assert write(Decimal("5.2"), Kind.TEMPERATURE, "us") == "41.4 °F"


def test_a_trace_is_not_shown_as_nothing():
    assert write(Decimal("0.012"), Kind.VOLUME, "metric") == "0.012 ml"


def test_a_float_is_written_as_it_prints():
    assert write(0.1 + 0.2, Kind.PH, "metric") == "0.3 pH"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("NaN")])
def test_what_is_no_number_is_not_written(value):
    with pytest.raises(ValueError, match="is not a quantity"):
        write(value, Kind.VOLUME, "metric")


def test_the_exact_text_is_in_the_base_unit():
    assert write_exact(read("50 psi", Kind.GAUGE_PRESSURE)) == "344737.864658 Pa gauge"
    assert write_exact(read("19 L", Kind.VOLUME)) == "19000 ml"


@pytest.mark.parametrize(
    ("ml", "metric", "us"),
    [
        ("44.36", "44 ml", "1 1/2 fl oz"),
        ("0.44", "0.4 ml", "0.015 fl oz"),
        ("49.6", "50 ml", "1 3/4 fl oz"),
        ("52.4", "50 ml", "1 3/4 fl oz"),
        ("123", "125 ml", "4 1/4 fl oz"),
        ("999", "1 L", "34 fl oz"),
        ("1255", "1.26 L", "42 fl oz"),
        ("19000", "19 L", "5 gal 2 fl oz"),
        ("3785.411784", "3.79 L", "1 gal"),
        ("0", "0 ml", "0 fl oz"),
    ],
)
def test_a_scaled_volume_is_given_as_a_bar_measures_it(ml, metric, us):
    assert as_measured(Decimal(ml), "metric") == metric
    assert as_measured(Decimal(ml), "us") == us


@pytest.mark.parametrize(
    ("grams", "metric", "us"),
    [
        ("1.26", "1.3 g", "0.044 oz"),
        ("12.6", "13 g", "1/2 oz"),
        ("1254", "1.255 kg", "2 lb 12 1/4 oz"),
        ("28.35", "28 g", "1 oz"),
    ],
)
def test_a_scaled_weight_is_given_as_a_bar_weighs_it(grams, metric, us):
    assert rounded_as_measured(Decimal(grams), Kind.MASS, "metric").text == metric
    assert rounded_as_measured(Decimal(grams), Kind.MASS, "us").text == us


def test_the_rounded_value_goes_with_its_text():
    assert rounded_as_measured(Decimal("123"), Kind.VOLUME, "metric").value == 125
    us = rounded_as_measured(Decimal("44"), Kind.VOLUME, "us")
    assert us.value == read("1 1/2 fl oz", Kind.VOLUME).value


def test_a_dash_of_something_is_never_rounded_off_the_list():
    measured = rounded_as_measured(Decimal("0.01"), Kind.VOLUME, "metric")
    assert measured == (Decimal("0.01"), "0.01 ml")


def test_pieces_are_counted_in_halves():
    assert rounded_as_measured(Decimal("2.6"), Kind.COUNT, "us").text == "2.5 pieces"


def test_one_piece_is_not_one_pieces():
    assert write(Decimal(1), Kind.COUNT, "metric") == "1 piece"
    assert rounded_as_measured(Decimal("1.1"), Kind.COUNT, "us").text == "1 piece"


def test_only_what_is_measured_out_can_be_rounded_so():
    with pytest.raises(ValueError, match="not measured out"):
        rounded_as_measured(Decimal(1), Kind.GAUGE_PRESSURE, "metric")
    with pytest.raises(ValueError, match="0 or more"):
        rounded_as_measured(Decimal(-1), Kind.VOLUME, "metric")
