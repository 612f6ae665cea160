"""What holds for every text and every quantity."""

from decimal import Decimal

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from kegsafe.quantities import ROWS, Kind, Quantity, UnreadableQuantity, read, write, write_exact

KINDS = st.sampled_from(Kind)
NUMBERS = st.text("0123456789.,/-+e ½⅔−", max_size=12)


@st.composite
def quantities(draw: st.DrawFn) -> Quantity:
    row = ROWS[draw(KINDS)]
    highest = min(row.highest, draw(st.sampled_from([row.highest, Decimal(1), Decimal("1e-9")])))
    lowest = max(row.lowest, -highest)
    value = draw(st.decimals(lowest, highest, allow_nan=False, places=18))
    return Quantity(row.kind, value)


@st.composite
def typed_quantities(draw: st.DrawFn) -> tuple[str, Kind]:
    kind = draw(KINDS)
    words = [word for unit in ROWS[kind].units for word in unit.words]
    return f"{draw(NUMBERS)} {draw(st.sampled_from(words))}"[:40], kind


def check_refusal(text: str, kind: Kind) -> Quantity | None:
    try:
        return read(text, kind)
    except UnreadableQuantity as refusal:
        sentence = str(refusal)
        assert sentence.startswith('"')
        assert sentence.endswith((".", "?"))
        assert len(sentence) < 320
        return None


@given(quantities())
def test_reading_and_printing_a_quantity_loses_nothing(quantity):
    assert read(write_exact(quantity), quantity.kind) == quantity


@settings(max_examples=300)
@given(typed_quantities())
def test_what_is_read_from_a_persons_text_survives_printing(typed):
    quantity = check_refusal(*typed)
    if quantity is not None:
        assert read(write_exact(quantity), quantity.kind) == quantity


@settings(max_examples=300)
@given(st.text(max_size=60), KINDS)
def test_any_text_is_read_or_refused_in_one_sentence(text, kind):
    check_refusal(text, kind)


@settings(max_examples=300)
@given(st.text("0123456789.,/*^()-+eE ½²①٣FCpsibarozglL%°", max_size=45), KINDS)
def test_any_arithmetic_is_read_or_refused_in_one_sentence(text, kind):
    check_refusal(text, kind)


@given(quantities(), st.sampled_from(["metric", "us"]))
def test_what_people_see_can_be_typed_back(quantity, units):
    row = ROWS[quantity.kind]
    assume(row.lowest * Decimal("0.9") <= quantity.value <= row.highest * Decimal("0.9"))
    again = read(write(quantity.value, quantity.kind, units), quantity.kind)
    assert abs(again.value - quantity.value) <= max(abs(quantity.value) / 10, Decimal("0.2"))


@given(st.decimals(-200, 900, places=4))
def test_celsius_to_fahrenheit_and_back_is_the_same_reading(celsius):
    fahrenheit = celsius * 9 / 5 + 32
    typed = read(f"{fahrenheit} °F", Kind.TEMPERATURE)
    assert typed == read(f"{celsius} °C", Kind.TEMPERATURE)
