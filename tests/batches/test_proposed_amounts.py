"""What a form proposes can be sent back as it stands."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.batches.forms.draws import readable
from kegsafe.quantities import Kind, read, rounded_as_measured


@given(
    st.decimals(Decimal("0.1"), Decimal("200000"), places=3),
    st.sampled_from([Kind.VOLUME, Kind.MASS, Kind.COUNT]),
    st.sampled_from(["metric", "us"]),
)
def test_every_measured_amount_is_read_back_as_what_was_meant(value, kind, units):
    measured = rounded_as_measured(value, kind, units)
    again = read(readable(measured, kind), kind).value
    assert again == pytest.approx(measured.value, abs=Decimal("0.3"), rel=Decimal("0.02"))


def test_gallons_and_ounces_are_proposed_as_one_number():
    measured = rounded_as_measured(Decimal(6000), Kind.VOLUME, "us")
    assert measured.text == "1 gal 75 fl oz"
    assert readable(measured, Kind.VOLUME) == "203 fl oz"
