"""The bound on what a line carries over stands beside 'may contain' and never replaces it."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.cleaning.carry_over import KegHeel, LineRinse, carry_over, keg_carry_over
from kegsafe.rules.findings import Severity
from tests.rules.cleaning.cleaning_facts import d

ALMOND = LineRinse(source="almond", line_ml=d(60), protein_mg_per_ml=d(3), rinse_ml=d(300))


@pytest.mark.parametrize(
    ("rinse_ml", "left_mg", "is_above"),
    [(0, "180", True), (300, "1.213", True), (312, "0.993", False), (600, "0.0082", False)],
)
def test_the_worked_line_of_an_almond_drink(rinse_ml, left_mg, is_above):
    """Line 60 ml, 3 mg/ml, reference dose 1 mg: 300 ml of rinse leave 1.213 mg. [computed]"""
    bound = carry_over(replace(ALMOND, rinse_ml=d(rinse_ml)))
    assert bound.in_one_glass_mg == pytest.approx(Decimal(left_mg), abs=Decimal("0.001"))
    assert bound.is_above_reference is is_above


def test_below_the_reference_dose_the_statement_still_stands():
    finding = carry_over(replace(ALMOND, rinse_ml=d(600))).finding
    assert finding.severity is Severity.WARN
    assert finding.statement == (
        "May contain almond. By the model up to 0.009 mg of its protein may reach one glass, "
        "below the reference dose of 1 mg; film and dead legs can hold more. The statement stands "
        "until an allergen clean with its test is on record."
    )


def test_above_it_says_rinse_more():
    assert (
        "at or above the reference dose of 1 mg. Rinse more."
        in carry_over(ALMOND).finding.statement
    )


def test_a_source_without_a_reference_dose_is_not_known_and_never_fine():
    bound = carry_over(replace(ALMOND, source="oats", rinse_ml=d(100_000)))
    assert (bound.reference_dose_mg, bound.is_above_reference) == (None, None)
    assert "no reference dose is on file" in bound.finding.statement


def test_another_set_of_doses_is_named():
    assert carry_over(replace(ALMOND, source="egg"), "Belgium").finding.source.endswith("Belgium")


@given(rinse=st.integers(0, 1_000_000), protein=st.integers(0, 1000), line=st.integers(10, 10_000))
def test_no_rinse_ever_silences_the_statement(rinse, protein, line):
    finding = carry_over(
        replace(ALMOND, rinse_ml=d(rinse), protein_mg_per_ml=d(protein), line_ml=d(line))
    ).finding
    assert finding.severity is Severity.WARN
    assert finding.statement.startswith("May contain almond.")


HEEL = KegHeel(
    source="almond",
    heel_ml=d(30),
    protein_mg_per_ml=d(3),
    rinse_ml=d(2000),
    rinses=0,
    keg_ml=d(19_000),
    pour_ml=d(150),
)


@pytest.mark.parametrize(
    ("rinses", "in_keg_mg", "in_glass_mg"), [(0, "90", "0.711"), (1, "1.33", "0.0105")]
)
def test_the_worked_heel_of_an_almond_drink(rinses, in_keg_mg, in_glass_mg):
    """30 ml of 3 mg/ml under 19 l: 0.711 mg in 150 ml, 0.0105 mg after 2 l of rinse. [computed]"""
    bound = keg_carry_over(replace(HEEL, rinses=rinses))
    assert bound.in_one_glass_mg == pytest.approx(Decimal(in_glass_mg), abs=Decimal("0.001"))
    left = dict(bound.finding.evidence)["left in the keg"].removesuffix(" mg of protein")
    assert float(left) == pytest.approx(float(in_keg_mg), rel=0.01)


@pytest.mark.parametrize(("heel_ml", "is_above"), [("42.2", False), ("42.3", True)])
def test_the_heel_that_alone_reaches_the_dose_of_almond(heel_ml, is_above):
    """1 mg in 150 ml of 19 l needs 42.2 ml of heel: 19,000 x 1 / (3 x 150) = 42.22. [computed]"""
    assert keg_carry_over(replace(HEEL, heel_ml=d(heel_ml))).is_above_reference is is_above


@given(rinses=st.integers(0, 50), heel=st.integers(1, 1000))
def test_no_rinse_of_a_keg_ever_silences_the_statement(rinses, heel):
    finding = keg_carry_over(replace(HEEL, rinses=rinses, heel_ml=d(heel))).finding
    assert finding.severity is Severity.WARN
    assert finding.statement.startswith("May contain almond.")
