"""Action levels and reference doses as others printed them."""

import pytest

from kegsafe.science.rinsing import action_level_mg_per_kg, reference_dose_mg


@pytest.mark.parametrize(("eaten_g", "printed"), [(25.0, 44.0), (400.0, 2.8)])
def test_action_level_for_peanut_is_the_belgian_agencys(eaten_g, printed):
    """Belgian food agency, advice 24-2017: 1.1 mg of peanut protein. [second-hand]"""
    dose_mg = reference_dose_mg("peanut", "Belgium")
    assert action_level_mg_per_kg(dose_mg, eaten_g) == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize(
    ("atom", "printed_mg"),
    [
        ("walnut", 1),
        ("cashew", 1),
        ("almond", 1),
        ("peanut", 2),
        ("egg", 2),
        ("milk", 2),
        ("sesame", 2),
        ("hazelnut", 3),
        ("wheat", 5),
        ("fish", 5),
        ("crustacean", 200),
        ("brazil_nut", 1),
        ("celery", 1),
        ("mustard", 1),
        ("lupin", 10),
        ("soy", 10),
    ],
)
def test_reference_dose_is_the_joint_expert_panels(atom, printed_mg):
    """FAO/WHO, Risk Assessment of Food Allergens, parts 2 and 5. [second-hand]"""
    assert reference_dose_mg(atom) == printed_mg


@pytest.mark.parametrize("atom", ["oats", "barley", "rye", "mollusc"])
def test_no_dose_is_made_up_where_the_panel_recommended_none(atom):
    """FAO/WHO part 5 recommended none for oats; none was found for the others."""
    assert reference_dose_mg(atom) is None
