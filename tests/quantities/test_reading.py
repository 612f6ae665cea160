"""Quantities mean what a person means, or a sentence says why not."""

from decimal import Decimal

import pytest

from kegsafe.quantities import (
    AmbiguousUnit,
    Kind,
    MissingUnit,
    NotANumber,
    OutOfRange,
    RefusedUnit,
    TooLong,
    UnknownUnit,
    UnreadableQuantity,
    WrongKind,
    in_unit,
    read,
)


def message(text: str, kind: Kind | tuple[Kind, ...]) -> str:
    with pytest.raises(UnreadableQuantity) as refusal:
        read(text, kind)
    return str(refusal.value)


@pytest.mark.parametrize("typed", ["36 F", "36F", "36 degF", "36 °F", "36 deg f", "３６ ℉"])
def test_thirty_six_fahrenheit_is_a_temperature_and_not_farads(typed):
    assert round(read(typed, Kind.TEMPERATURE).value, 3) == Decimal("2.222")


@pytest.mark.parametrize("typed", ["-5 °C", "−5 °C", "–5C", "-5 ºC", "- 5 celsius", "-5,0 °C"])
def test_every_kind_of_minus_sign_is_a_frost(typed):
    assert read(typed, Kind.TEMPERATURE).value == -5


@pytest.mark.parametrize(
    "typed", ["50 PSI", "50 psi", "50 psig", "50psi", "50 psi gauge", "50 PSI(G)", "5e1 psi"]
)
def test_fifty_psi_on_a_gauge_is_a_gauge_reading(typed):
    reading = read(typed, Kind.GAUGE_PRESSURE)
    assert reading.kind is Kind.GAUGE_PRESSURE
    assert in_unit(reading, "psi gauge") == 50


@pytest.mark.parametrize("typed", ["5,5 bar", "5.5 bar", "5.5 barg", "550 kPa", "5.50 BAR"])
def test_a_decimal_comma_reads_like_a_decimal_point(typed):
    assert read(typed, Kind.GAUGE_PRESSURE).value == 550_000


def test_five_comma_nought_psi_is_never_fifty():
    assert in_unit(read("5,0 psi", Kind.GAUGE_PRESSURE), "psi gauge") == 5


@pytest.mark.parametrize(
    "typed", ["1 1/2 oz", "1½ oz", "1 ½ oz", "1-1/2 oz", "1.5 oz", "1 1⁄2 fl. oz.", "3/2 floz"]
)
def test_an_ounce_and_a_half_is_written_in_many_ways(typed):
    assert in_unit(read(typed, Kind.VOLUME), "fl oz") == Decimal("1.5")


@pytest.mark.parametrize(
    ("typed", "ounces"),
    [("½ oz", "0.5"), ("¼ oz", "0.25"), ("¾oz", "0.75"), ("⅛ oz", "0.125"), (".5 oz", "0.5")],
)
def test_vulgar_fractions_are_read(typed, ounces):
    assert in_unit(read(typed, Kind.VOLUME), "oz") == Decimal(ounces)


@pytest.mark.parametrize(("typed", "ml"), [("⅓ ml", "0.333333333333"), ("⅔ ml", "0.666666666667")])
def test_thirds_keep_twelve_figures(typed, ml):
    assert read(typed, Kind.VOLUME).value == Decimal(ml)


@pytest.mark.parametrize("typed", ["19L", "19 l", "19 litres", "19 liters", "1900 cl", "190 dl"])
def test_a_keg_of_nineteen_litres(typed):
    assert read(typed, Kind.VOLUME).value == 19_000


def test_two_ounces_per_gallon_is_a_weight_per_volume():
    """NIST SP 811 (2008), B.8: 1 oz/gal (US) = 7.489152 g/L. [memory]"""
    assert round(read("2 oz/gal", Kind.CONCENTRATION).value, 0) == 14_978


def test_what_was_typed_is_kept():
    assert read(" 5,5 bar ", Kind.GAUGE_PRESSURE).typed == " 5,5 bar "


def test_a_misspelt_unit_gets_the_right_one():
    with pytest.raises(UnknownUnit):
        read("50 pis", Kind.GAUGE_PRESSURE)
    assert message("50 pis", Kind.GAUGE_PRESSURE) == (
        '"50 pis" has a unit that is not known here: "pis". Did you mean 50 psi?'
    )


def test_an_unheard_of_unit_gets_an_example():
    assert message("3 wombats", Kind.VOLUME) == (
        '"3 wombats" has a unit that is not known here: "wombats". '
        "Write it like this: 19 L or 1 1/2 oz."
    )


@pytest.mark.parametrize(
    ("typed", "kind", "sentence"),
    [
        (
            "36",
            Kind.TEMPERATURE,
            '"36" has no unit. Write the temperature with one: 2 °C or 36 °F.',
        ),
        (
            "50",
            Kind.GAUGE_PRESSURE,
            '"50" has no unit. Write the gauge reading with one: 50 psi or 3.45 bar.',
        ),
        (
            "2",
            (Kind.VOLUME, Kind.MASS, Kind.COUNT),
            '"2" has no unit. Write it with one: 19 L or 250 g or 12 pieces.',
        ),
    ],
)
def test_a_number_without_a_unit_gets_a_right_example(typed, kind, sentence):
    with pytest.raises(MissingUnit):
        read(typed, kind)
    assert message(typed, kind) == sentence


@pytest.mark.parametrize(
    "typed",
    ["nan", "NaN L", "inf", "-inf L", "Infinity L", "1/0", "1/0 L", "1 0/0 L", "9**9**8",
     "9**9**8 L", "9^9 L", "1e400 L", "1e999999999999 L", "__import__('os')", "1;2 L", "5 5 L",
     "5-7 L", "5–7 L", "~5 L", "5. L", "1,2,3 L", "1.2.3 L", "--5 L", "", "   ", "L", "1/2/3 L",
     "10 000 L", "1 3/2 L", "0x10 L", "1.2345678901234 L", "1٫٢ L", "1_000 L", "5 ft 6 in"],
)  # fmt: skip
def test_what_is_not_one_number_is_refused(typed):
    with pytest.raises(UnreadableQuantity):
        read(typed, Kind.VOLUME)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("nan", '"nan" does not start with a number. Write it like this: 19 L or 1 1/2 oz.'),
        ("inf", '"inf" does not start with a number. Write it like this: 19 L or 1 1/2 oz.'),
        (
            "1/0",
            '"1/0" divides by nothing a measure is marked in. '
            "Write it like this: 19 L or 1 1/2 oz.",
        ),
        (
            "9**9**8",
            '"9**9**8" is not one number with one unit. Write it like this: 19 L or 1 1/2 oz.',
        ),
    ],
)
def test_arithmetic_is_refused_and_never_worked_out(typed, sentence):
    with pytest.raises(NotANumber):
        read(typed, Kind.VOLUME)
    assert message(typed, Kind.VOLUME) == sentence


def test_a_trace_too_small_for_any_measure_is_refused():
    assert message("0.0000000000001e-9 g", Kind.MASS) == (
        '"0.0000000000001e-9 g" is too small for any measure. Write it like this: 250 g or 8 oz.'
    )


def test_a_page_of_text_is_refused_before_it_is_looked_at():
    class Page(str):
        """A text that may be measured and shown, and not searched."""

        def translate(self, *_: object) -> str:
            raise AssertionError("the length comes first")

    with pytest.raises(TooLong) as refusal:
        read(Page("9" * 1_000_000), Kind.VOLUME)
    assert str(refusal.value) == (
        f'"{"9" * 39}…" is longer than 40 characters, too long for a volume. '
        "Write it like this: 19 L or 1 1/2 oz."
    )


def test_a_thousand_or_one_is_asked_back():
    with pytest.raises(NotANumber):
        read("1,000 L", Kind.VOLUME)
    assert message("1,000 L", Kind.VOLUME) == (
        '"1,000 L" can be read as 1000 or as 1.000. Write it without the comma: 1000 L or 1.000 L.'
    )


@pytest.mark.parametrize(
    ("typed", "ml"),
    [
        ("1.000,5 ml", "1000.5"),
        ("1,000.5 ml", "1000.5"),
        ("1,000,000 ml", "1000000"),
        ("1.000.000 ml", "1000000"),
        ("0,125 ml", "0.125"),
        ("1234,567 ml", "1234.567"),
        ("1.000 ml", "1"),
        ("12,34 ml", "12.34"),
    ],
)
def test_separators_are_read_where_only_one_reading_is_left(typed, ml):
    assert read(typed, Kind.VOLUME).value == Decimal(ml)


@pytest.mark.parametrize("typed", ["1.00,5 ml", "1,00.5 ml", "1,0000.5 ml", "1.000,5.5 ml"])
def test_crooked_groups_are_no_number(typed):
    with pytest.raises(NotANumber):
        read(typed, Kind.VOLUME)


def test_digits_of_one_other_script_are_read_and_two_mixed_are_not():
    """U+0665 U+0660 are 5 and 0; U+09EA, a Bengali 4, looks like an 8."""
    assert in_unit(read("٥٠ psi", Kind.GAUGE_PRESSURE), "psi gauge") == 50
    assert message("5৪ psi", Kind.GAUGE_PRESSURE) == (
        '"5৪ psi" mixes digits of two scripts. Write it like this: 50 psi or 3.45 bar.'
    )


@pytest.mark.parametrize("typed", ["5² L", "5²", "①L", "5₂ L"])
def test_a_small_or_circled_digit_is_not_glued_to_the_number(typed):
    with pytest.raises(UnreadableQuantity):
        read(typed, Kind.VOLUME)


def test_gauge_where_absolute_belongs_is_refused():
    with pytest.raises(WrongKind):
        read("50 psig", Kind.ABSOLUTE_PRESSURE)
    assert message("50 psig", Kind.ABSOLUTE_PRESSURE) == (
        '"50 psig" is a gauge reading, and an absolute pressure belongs here. '
        "Write it like this: 14.7 psia or 101.3 kPa abs."
    )


@pytest.mark.parametrize("typed", ["50 psia", "3.4 bara", "345 kPa abs", "345 kPa(a)", "3 bar-a"])
def test_absolute_where_gauge_belongs_is_refused(typed):
    with pytest.raises(WrongKind):
        read(typed, Kind.GAUGE_PRESSURE)
    assert message(typed, Kind.GAUGE_PRESSURE) == (
        f'"{typed}" is an absolute pressure, and a gauge reading belongs here. '
        "Write it like this: 50 psi or 3.45 bar."
    )


@pytest.mark.parametrize("typed", ["1 bara", "100 kPa abs", "1 bar absolute", "100 kPa (abs)"])
def test_absolute_pressure_is_read_when_it_says_so(typed):
    assert read(typed, Kind.ABSOLUTE_PRESSURE).value == 100_000


def test_plain_psi_is_not_taken_for_absolute():
    with pytest.raises(RefusedUnit):
        read("50 psi", Kind.ABSOLUTE_PRESSURE)
    assert message("50 psi", Kind.ABSOLUTE_PRESSURE) == (
        '"50 psi" cannot be read as an absolute pressure. '
        "The unit must say gauge or absolute, and here it does not. "
        "Write it like this: 14.7 psia or 101.3 kPa abs."
    )


def test_where_both_pressures_are_welcome_each_must_say_which_it_is():
    both = (Kind.GAUGE_PRESSURE, Kind.ABSOLUTE_PRESSURE)
    assert read("50 psig", both).kind is Kind.GAUGE_PRESSURE
    assert read("50 psia", both).kind is Kind.ABSOLUTE_PRESSURE
    assert message("50 psi", both).endswith("Write it like this: 50 psig or 14.7 psia.")


def test_a_gauge_and_an_absolute_pressure_are_never_equal():
    gauge, absolute = read("1 bar", Kind.GAUGE_PRESSURE), read("1 bara", Kind.ABSOLUTE_PRESSURE)
    assert gauge.value == absolute.value
    assert gauge != absolute


def test_a_pressure_in_a_temperature_field_is_named():
    with pytest.raises(WrongKind):
        read("50 psi", Kind.TEMPERATURE)
    assert message("50 psi", Kind.TEMPERATURE) == (
        '"50 psi" is a gauge reading, and a temperature belongs here. '
        "Write it like this: 2 °C or 36 °F."
    )


def test_a_degree_sign_alone_is_asked_back():
    assert message("36°", Kind.TEMPERATURE) == (
        '"36°" cannot be read as a temperature. '
        "A degree sign alone does not say Celsius or Fahrenheit. "
        "Write it like this: 2 °C or 36 °F."
    )


def test_an_ounce_is_fluid_where_a_volume_belongs_and_weighs_where_a_weight_does():
    """NIST SP 811 (2008), B.8: 29.57353 mL and 28.34952 g. [memory]"""
    assert round(read("1 oz", Kind.VOLUME).value, 5) == Decimal("29.57353")
    assert round(read("1 oz", Kind.MASS).value, 5) == Decimal("28.34952")


def test_an_ounce_is_asked_back_where_both_are_welcome():
    both = (Kind.VOLUME, Kind.MASS)
    with pytest.raises(AmbiguousUnit):
        read("2 oz", both)
    assert message("2 oz", both) == (
        '"2 oz" can be a volume or a weight: "oz" is used for each. Write 2 fl oz or 2 oz wt.'
    )
    assert read("2 fl oz", both).kind is Kind.VOLUME
    assert read("2 oz wt", both).kind is Kind.MASS


def test_below_absolute_zero_there_is_nothing():
    with pytest.raises(OutOfRange):
        read("-273.16 °C", Kind.TEMPERATURE)
    assert read("-273.15 °C", Kind.TEMPERATURE).value == Decimal("-273.15")
    assert read("0 K", Kind.TEMPERATURE).value == Decimal("-273.15")
    assert message("-500 °F", Kind.TEMPERATURE) == (
        '"-500 °F" is below absolute zero, -273.15 °C. Write it like this: 2 °C or 36 °F.'
    )


@pytest.mark.parametrize(
    ("typed", "kind", "noun"),
    [
        ("-2 L", Kind.VOLUME, "a volume"),
        ("-1 g", Kind.MASS, "a weight"),
        ("-3 mm", Kind.LENGTH, "a length"),
        ("-10 min", Kind.TIME, "a length of time"),
    ],
)
def test_nobody_has_less_than_nothing(typed, kind, noun):
    with pytest.raises(OutOfRange):
        read(typed, kind)
    assert message(typed, kind).startswith(
        f'"{typed}" is less than nothing: {noun} cannot be negative. Write it like this: '
    )


def test_a_gauge_may_show_a_vacuum_and_no_more_than_a_full_one():
    assert read("-0.5 bar", Kind.GAUGE_PRESSURE).value == -50_000
    assert "below a full vacuum" in message("-2 bar", Kind.GAUGE_PRESSURE)


def test_a_slipped_key_is_too_much():
    assert message("9000 bar", Kind.GAUGE_PRESSURE) == (
        '"9000 bar" is too much for a gauge reading: at most 1000 bar gauge can be right here. '
        "Write it like this: 50 psi or 3.45 bar."
    )


def test_proof_is_not_converted_behind_anybodys_back():
    with pytest.raises(RefusedUnit):
        read("80 proof", Kind.ALCOHOL)
    assert message("80 proof", Kind.ALCOHOL) == (
        '"80 proof" cannot be read as a strength in % vol. '
        "Proof is counted at 60 °F, % vol at 20 °C, so it is not converted here. "
        "Write it like this: 40 % vol or 5.5 % ABV."
    )


def test_ppm_is_read_for_a_sanitiser_and_refused_for_a_drink():
    assert read("200 ppm", Kind.SANITISER_STRENGTH).value == 200
    with pytest.raises(RefusedUnit):
        read("200 ppm", Kind.CONCENTRATION)


def test_a_ph_needs_no_unit_and_may_carry_its_name_on_either_side():
    for typed in ("3.4", "3,4", "pH 3.4", "PH: 3.4", "3.4 pH"):
        assert read(typed, Kind.PH).value == Decimal("3.4")


@pytest.mark.parametrize(
    ("typed", "kind", "value"),
    [
        ("2 dashes", Kind.VOLUME, "1.6"),  # common practice, no source
        ("1 bar spoon", Kind.VOLUME, "5"),  # common practice, no source
        ("20 drops", Kind.VOLUME, "1"),  # common practice, no source
        ("12 °Bx", Kind.SUGAR, "12"),
        ("12 Brix", Kind.SUGAR, "12"),
        ("5.5% ABV", Kind.ALCOHOL, "5.5"),
        ("3.5 vol", Kind.CO2_VOLUMES, "3.5"),
        ("6 1/h", Kind.AIR_CHANGES, "6"),
        ("6 ach", Kind.AIR_CHANGES, "6"),
        ("30 m³", Kind.ROOM_VOLUME, "30"),
        ("0.68 kg/L", Kind.FILLING_RATIO, "0.68"),
        ("90 min", Kind.TIME, "5400"),
        ("50 %", Kind.FRACTION, "0.5"),
        ("3 pcs", Kind.COUNT, "3"),
        ("5 mg/mL", Kind.CONCENTRATION, "5000"),
        ("5 g/100 g", Kind.MASS_FRACTION, "5"),
        ("5000 ppm", Kind.GAS_FRACTION, "5000"),
        ("0.5 %", Kind.GAS_FRACTION, "5000"),
        ("-3 °F", Kind.TEMPERATURE_DIFFERENCE, "-1.66666666667"),
        ("128 fl oz/gal", Kind.VOLUME_FRACTION, "100"),
        ("0.92", Kind.WATER_ACTIVITY, "0.92"),
    ],
)
def test_the_trades_own_measures_are_read(typed, kind, value):
    assert read(typed, kind).value == Decimal(value)


def test_control_characters_and_direction_marks_do_not_reach_the_message():
    assert "\u202e" not in message("50 \u202eisp", Kind.GAUGE_PRESSURE)
    assert "\n" not in message("50\npis", Kind.GAUGE_PRESSURE)
