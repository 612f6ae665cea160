"""Sulphite by dilution: exact at a limit, and unknown when any part is."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.science.ranges import OutsideRange
from kegsafe.science.sulphite import (
    SulphitePart,
    mg_per_kg,
    mg_per_l,
    so2_mg_from_salt,
    total_so2_mg_per_l,
)

parts = st.builds(SulphitePart, st.floats(0.1, 20_000.0), st.floats(0.0, 400.0))


@pytest.mark.parametrize(
    ("poured", "expected"),
    [
        ([(90, 120), (60, 130), (30, 0)], 103.33),
        ([(20, 90), (140, 0)], 11.25),
        ([(15, 100), (165, 0)], 8.33),
        ([(15, 100), (45, 0)], 25.00),
        ([(20, 100), (180, 0)], 10.00),
        ([(10, 350), (140, 0)], 23.33),
        ([(25, 200), (475, 0)], 10.00),
    ],
    ids=[
        "spritz",
        "vermouth",
        "cordial topped",
        "cordial as sold",
        "exactly ten",
        "lemon at its legal maximum",
        "wine at its legal maximum",
    ],
)
def test_drinks_worked_by_hand(poured, expected):
    """Volumes in ml and total SO2 in mg/l; the sum over the whole drink as served."""
    drink = [SulphitePart(volume, content) for volume, content in poured]
    assert total_so2_mg_per_l(drink) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(
    "poured",
    [
        [(20, 100), (180, 0)],
        [(0.1, 100), (0.9, 0)],
        [(33.3, 30.03), (66.7, 0.0)],
        [(0.7, 14.1), (0.3, 0.43333)],
        [(1.1, 10.0), (2.2, 10.0), (3.3, 10.0)],
    ],
)
def test_a_sum_that_is_exact_on_paper_is_exact_here(poured):
    """Whoever multiplies the decimals by hand must land on the same side of ten."""
    total = sum(Decimal(str(volume)) for volume, _ in poured)
    held = sum(Decimal(str(volume)) * Decimal(str(content)) for volume, content in poured)
    drink = [SulphitePart(volume, content) for volume, content in poured]
    assert (total_so2_mg_per_l(drink) >= 10.0) == (held >= 10 * total)
    assert (total_so2_mg_per_l(drink) > 10.0) == (held > 10 * total)


def test_one_unknown_part_makes_the_drink_unknown():
    assert total_so2_mg_per_l([SulphitePart(20, 90), SulphitePart(140, None)]) is None


def test_an_unknown_part_that_was_not_poured_does_not_matter():
    assert total_so2_mg_per_l([SulphitePart(20, 90), SulphitePart(0, None)]) == 90.0


@given(st.lists(parts, min_size=1, max_size=6), st.floats(1.0, 20_000.0))
def test_water_never_raises_the_content(drink, water_ml):
    assert total_so2_mg_per_l([*drink, SulphitePart(water_ml, 0.0)]) <= total_so2_mg_per_l(drink)


@given(st.lists(parts, min_size=1, max_size=6))
def test_a_drink_lies_between_its_least_and_its_most_sulphited_part(drink):
    contents = [part.total_so2_mg_per_l for part in drink]
    assert min(contents) <= total_so2_mg_per_l(drink) <= max(contents)


@pytest.mark.parametrize("drink", [[], [SulphitePart(0, 100)], [SulphitePart(0, None)]])
def test_no_drink_has_no_content(drink):
    with pytest.raises(OutsideRange, match="volume of the drink"):
        total_so2_mg_per_l(drink)


@pytest.mark.parametrize(
    ("volume_ml", "content"), [(-1, 10), (math.nan, 10), (20, -1), (20, math.inf), (20, 10_001)]
)
def test_a_part_outside_reason_is_refused(volume_ml, content):
    with pytest.raises(OutsideRange):
        SulphitePart(volume_ml, content)


@pytest.mark.parametrize(
    ("salt", "share"),
    [("potassium metabisulphite", 0.576), ("sodium metabisulphite", 0.674)],
)
def test_a_gram_of_salt_brings_its_known_share_of_sulphur_dioxide(salt, share):
    """Winemaking texts print 57.6 % for potassium metabisulphite. [from memory]"""
    assert so2_mg_from_salt(1000.0, salt) == pytest.approx(1000.0 * share, abs=0.5)


def test_a_light_drink_can_pass_ten_by_mass_though_not_by_volume():
    assert mg_per_kg(9.8, 960.0) == pytest.approx(10.21, abs=0.005)


@given(st.floats(0.0, 1000.0), st.floats(700.0, 1500.0))
def test_content_by_volume_comes_back_from_content_by_mass(content, density_kg_m3):
    assert mg_per_l(mg_per_kg(content, density_kg_m3), density_kg_m3) == pytest.approx(content)


@pytest.mark.parametrize("density_kg_m3", [0.96, 699.9, 1500.1])
def test_a_density_in_the_wrong_unit_is_refused(density_kg_m3):
    with pytest.raises(OutsideRange, match="density"):
        mg_per_kg(9.8, density_kg_m3)
