"""Which evidence decides whether a food is TCS, and in which order."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.findings import Severity
from kegsafe.rules.tcs import (
    ProductAssessment,
    TcsFacts,
    TcsStatus,
    table_result,
    tcs_categories,
    tcs_status,
)

TODAY = date(2026, 5, 1)


def assessment(**changes) -> ProductAssessment:
    facts = {
        "reference": "PA-7",
        "competent_person": "R. Okafor",
        "role": "food microbiologist",
        "assessed_on": date(2026, 1, 1),
        "expires_on": date(2026, 12, 31),
        "ph": Decimal("4.3"),
        "water_activity": Decimal("0.97"),
        "concludes_not_tcs": True,
        "maximum_days": None,
        "scope": "the spritz as bottled on site",
    }
    return ProductAssessment(**{**facts, **changes})


def judged(**changes):
    facts = {
        "category": None,
        "ph": None,
        "water_activity": None,
        "heat_treated_and_packaged": False,
        "shelf_stable_unopened": False,
        "assessment": None,
    }
    numbers = {
        key: Decimal(value) if type(value) is str and key != "category" else value
        for key, value in changes.items()
    }
    return tcs_status(TcsFacts(**{**facts, **numbers}), TODAY)


def test_nothing_on_record_is_unknown_and_treated_as_tcs():
    verdict = judged()
    assert verdict.status is TcsStatus.UNKNOWN
    assert verdict.treated_as_tcs
    assert verdict.finding.severity is Severity.WARN


def test_a_shelf_stable_pack_unopened_is_not_tcs_whatever_is_in_it():
    assert judged(category="dairy", shelf_stable_unopened=True).status is TcsStatus.NOT_TCS


def test_dairy_is_tcs_by_definition():
    assert judged(category="dairy").status is TcsStatus.TCS


@pytest.mark.parametrize(
    "category",
    [
        "egg",
        "cut_melon",
        "cut_leafy_greens",
        "cut_tomato",
        "sprouts",
        "heated_plant_food",
        "garlic_in_oil",
    ],
)
def test_the_foods_the_definition_names_are_tcs(category):
    assert judged(category=category).status is TcsStatus.TCS


def test_a_bottled_spirit_is_not_tcs():
    assert judged(category="spirit").status is TcsStatus.NOT_TCS


def test_a_syrup_nobody_measured_needs_an_assessment_and_is_treated_as_tcs():
    verdict = judged(category="sugar_syrup")
    assert verdict.status is TcsStatus.ASSESSMENT_NEEDED
    assert verdict.treated_as_tcs


def test_a_kind_of_food_nobody_knows_is_unknown():
    assert judged(category="stardust").status is TcsStatus.UNKNOWN


def test_a_measured_acid_food_is_not_tcs_and_shows_what_was_judged():
    verdict = judged(category="mixed_drink", ph="3.2")
    assert verdict.status is TcsStatus.NOT_TCS
    assert ("pH", "3.2, judged as 3.3") in verdict.finding.evidence
    assert "may need the authority's variance" in verdict.finding.statement


def test_a_measurement_in_the_undecided_band_needs_an_assessment():
    verdict = judged(category="mixed_drink", ph="4.4", water_activity="0.98")
    assert verdict.status is TcsStatus.ASSESSMENT_NEEDED
    assert verdict.treated_as_tcs


def test_a_measurement_outweighs_the_kind_of_food_in_both_directions():
    assert judged(category="spirit", ph="6.0").status is TcsStatus.ASSESSMENT_NEEDED
    assert judged(category="cut_tomato", ph="3.9").status is TcsStatus.NOT_TCS


def test_the_house_margin_is_added_where_the_meter_states_none():
    assert judged(ph="4.15").status is TcsStatus.ASSESSMENT_NEEDED
    assert judged(ph="4.09").status is TcsStatus.NOT_TCS


def test_a_meters_own_uncertainty_takes_the_place_of_the_margin():
    assert judged(ph="4.15", ph_uncertainty="0.02").status is TcsStatus.NOT_TCS
    assert judged(ph="4.15", ph_uncertainty="0.05").status is TcsStatus.ASSESSMENT_NEEDED


def test_a_syrup_measured_dry_enough_is_not_tcs():
    assert judged(category="sugar_syrup", water_activity="0.86").status is TcsStatus.NOT_TCS
    assert judged(category="sugar_syrup", water_activity="0.87").treated_as_tcs


def test_heat_and_a_closed_pack_open_table_a():
    assert judged(ph="4.4").status is TcsStatus.ASSESSMENT_NEEDED
    assert judged(ph="4.4", heat_treated_and_packaged=True).status is TcsStatus.NOT_TCS


# Assessments


def test_a_current_assessment_decides_as_it_concludes():
    assert judged(category="dairy", assessment=assessment()).status is TcsStatus.NOT_TCS
    against = assessment(concludes_not_tcs=False)
    assert judged(ph="3.0", assessment=against).status is TcsStatus.TCS


def test_an_assessment_is_cited_with_its_person_and_scope():
    finding = judged(assessment=assessment()).finding
    assert finding.source == "Assessment PA-7, 2026-01-01"
    assert finding.statement == (
        "R. Okafor assessed that it does not need time/temperature control: "
        "the spritz as bottled on site until 2026-12-31."
    )


@pytest.mark.parametrize(
    ("on", "current"),
    [
        (date(2025, 12, 31), False),
        (date(2026, 1, 1), True),
        (date(2026, 12, 31), True),
        (date(2027, 1, 1), False),
    ],
)
def test_an_assessment_counts_from_its_day_to_its_last(on, current):
    assert assessment().is_current(on) is current


def test_an_assessment_without_an_end_goes_on():
    assert assessment(expires_on=None).is_current(date(2035, 1, 1))


@pytest.mark.parametrize("gap", ["reference", "competent_person"])
def test_an_assessment_nobody_signed_counts_for_nothing(gap):
    assert not assessment(**{gap: "  "}).is_current(TODAY)


def test_an_assessment_that_ran_out_leaves_the_next_evidence_to_decide():
    old = assessment(expires_on=date(2026, 4, 30))
    assert judged(category="dairy", assessment=old).status is TcsStatus.TCS


# Labels


def test_a_label_decides_only_where_the_kind_of_food_leaves_it_to_the_label():
    free = TcsStatus.NOT_TCS
    assert judged(category="cream_liqueur", declared=free).status is TcsStatus.NOT_TCS
    assert judged(category="dairy", declared=free).status is TcsStatus.TCS
    assert judged(category="cream_liqueur").status is TcsStatus.UNKNOWN


def test_a_label_that_asks_for_cold_is_believed():
    assert judged(category="spirit", declared=TcsStatus.TCS).status is TcsStatus.TCS


# Properties

values = st.decimals(0, 14, places=2)
activities = st.decimals(0, 1, places=3)


@given(table=st.sampled_from("AB"), ph=values, aw=activities)
def test_not_knowing_a_value_never_makes_the_answer_kinder(table, ph, aw):
    if "N" in (table_result(table, ph, None), table_result(table, None, aw)):
        assert table_result(table, ph, aw) == "N"


@given(table=st.sampled_from("AB"), ph=values, aw=activities, acid=values, dry=activities)
def test_more_acid_and_drier_is_never_worse(table, ph, aw, acid, dry):
    if table_result(table, ph, aw) == "N":
        assert table_result(table, min(ph, acid), min(aw, dry)) == "N"


@given(ph=values, aw=activities)
def test_table_b_is_never_kinder_than_table_a(ph, aw):
    if table_result("B", ph, aw) == "N":
        assert table_result("A", ph, aw) == "N"


def test_every_kind_of_food_gives_a_verdict_with_a_source():
    for key, category in tcs_categories().items():
        finding = judged(category=key).finding
        assert finding.source.startswith(category.source)
