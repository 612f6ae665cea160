"""A test batch brought to kegs: in proportion exactly, and measurable."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.batches.scaling import Amount, highest_fill_percent, scale, volume_for_kegs
from kegsafe.quantities import Kind

volumes = st.decimals(Decimal("100"), Decimal("200000"), places=2)
amounts = st.lists(
    st.builds(
        Amount,
        st.decimals(Decimal("0.1"), Decimal("5000"), places=3),
        st.sampled_from([Kind.VOLUME, Kind.MASS, Kind.COUNT]),
    ),
    min_size=1,
    max_size=8,
)
units = st.sampled_from(["metric", "us"])


def test_a_recipe_for_a_litre_and_a_half_fills_a_keg_of_eighteen():
    """Twelve times as much of everything."""
    rum, cordial = scale(
        [Amount(Decimal(300), Kind.VOLUME), Amount(Decimal("12.5"), Kind.MASS)],
        Decimal(1500),
        Decimal(18_000),
        "metric",
    )
    assert (rum.measured.text, rum.exact) == ("3.6 L", Decimal(3600))
    assert (cordial.measured.text, cordial.exact) == ("150 g", Decimal(150))


def test_an_amount_is_rounded_as_it_is_measured_and_the_exact_figure_is_kept():
    [gin] = scale([Amount(Decimal("44.36"), Kind.VOLUME)], Decimal(1500), Decimal(17_000), "metric")
    assert gin.measured.text == "505 ml"
    assert gin.exact_text == "502.75 ml"
    assert gin.rounding_percent == pytest.approx(Decimal("0.448"), abs=Decimal("0.01"))


def test_a_dash_that_rounds_to_nothing_stays_on_the_list():
    [bitters] = scale([Amount(Decimal("0.8"), Kind.VOLUME)], Decimal(1500), Decimal(50), "metric")
    assert bitters.measured.value > 0


def test_two_kegs_of_nineteen_litres_hold_thirty_six_at_the_head_space_rule():
    """Five per cent of head space: common practice, no source."""
    assert volume_for_kegs(2, Decimal(19_000), highest_fill_percent()) == Decimal(36_100)


@pytest.mark.parametrize(
    ("kegs", "capacity", "level"),
    [(0, 19_000, 90), (1, 0, 90), (1, 19_000, 0), (1, 19_000, 96)],
)
def test_what_no_keg_can_hold_is_refused(kegs, capacity, level):
    with pytest.raises(ValueError):
        volume_for_kegs(kegs, Decimal(capacity), Decimal(level))


@pytest.mark.parametrize(("test_volume", "target"), [(0, 1000), (1000, 0), (-1, 1000)])
def test_a_volume_of_nothing_is_refused(test_volume, target):
    with pytest.raises(ValueError, match="above 0"):
        scale([], Decimal(test_volume), Decimal(target), "metric")


@given(amounts, volumes, volumes, units)
def test_scaling_keeps_the_share_of_every_part(parts, test_volume, target, units):
    scaled = scale(parts, test_volume, target, units)
    for part, each in zip(parts, scaled, strict=True):
        assert each.exact * test_volume == pytest.approx(part.value * target, rel=Decimal("1e-30"))


@given(amounts, volumes, volumes, units)
def test_scaling_there_and_back_loses_nothing(parts, test_volume, target, units):
    there = scale(parts, test_volume, target, units)
    back = scale(
        [Amount(each.exact, part.kind) for part, each in zip(parts, there, strict=True)],
        target,
        test_volume,
        units,
    )
    for part, each in zip(parts, back, strict=True):
        assert each.exact == pytest.approx(part.value, rel=Decimal("1e-30"))


@given(amounts, volumes, volumes, units)
def test_what_is_measured_is_never_far_from_what_is_meant(parts, test_volume, target, units):
    """Half a step of the measure: the largest steps are a half piece, an ounce and 10 ml."""
    for each in scale(parts, test_volume, target, units):
        assert each.measured.value > 0
        assert abs(each.measured.value - each.exact) <= max(Decimal(15), each.exact / 2)
