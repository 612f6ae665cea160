"""What a line passes on, worked from the rule that equipment is cleaned and checked.

Source: Regulation (EC) 852/2004 as amended by (EU) 2021/382: equipment used for a food with an
allergen is not used for one without it unless it has been cleaned and checked. [recital read,
wording second-hand] That a sanitise removes no protein, and that a drink added on a heel takes
the heel in as an ingredient, are house rules after Codex CXC 80-2020. [read in part]
"""

from datetime import timedelta

import pytest
from django.utils import timezone

from kegsafe.cleaning.models import CleaningRecord
from kegsafe.cleaning.queries import history_of
from kegsafe.cleaning.services import record_clean
from kegsafe.equipment.services import begin_use, end_use
from kegsafe.rules.allergens import cross_contact
from kegsafe.rules.fill_checks import FillPlan, keg_is_empty
from kegsafe.rules.findings import Severity
from tests.builders import a_line, a_recorder, a_venue
from tests.rules.pour_facts import NOW, whole_facts

ALMOND, MILK = frozenset({"almond"}), frozenset({"milk"})
VERIFICATION = CleaningRecord.Verification


@pytest.fixture
def line(db):
    """A line that has just carried case A01: rum, lime and orgeat of real almond."""
    carried = a_line(a_venue(), name="3")
    _carry(carried, ALMOND, hours_ago=5)
    return carried


def _carry(line, sources, *, hours_ago):
    by, left = a_recorder(line.venue), history_of(line=line).residue
    began = timezone.now() - timedelta(hours=hours_ago)
    use = begin_use(
        line=line,
        drink="a drink",
        allergens=sorted(sources),
        carried_over=sorted(left),
        began_at=began,
        by=by,
    )
    end_use(use, ended_at=began + timedelta(minutes=30), by=by)


def _clean(line, *, is_allergen_clean, verification):
    record_clean(
        venue=line.venue,
        line=line,
        cleaned_at=timezone.now() - timedelta(minutes=30),
        method="By the plan",
        sanitised=True,
        is_allergen_clean=is_allergen_clean,
        verification=verification,
        by=a_recorder(line.venue),
    )


@pytest.mark.parametrize(
    ("is_allergen_clean", "verification", "passed_on"),
    [
        pytest.param(False, VERIFICATION.VISUAL, ALMOND, id="X01 clean and sanitise"),
        pytest.param(True, VERIFICATION.NONE, ALMOND, id="X02 allergen clean, not verified"),
        pytest.param(True, VERIFICATION.PROTEIN_SWAB, frozenset(), id="X03 verified by swab"),
    ],
)
def test_what_an_almond_drink_leaves_for_rum_lime_and_sugar(
    line, is_allergen_clean, verification, passed_on
):
    _clean(line, is_allergen_clean=is_allergen_clean, verification=verification)
    assert cross_contact(history_of(line=line).residue, frozenset()) == passed_on


def test_x06_a_keg_with_a_heel_in_it_is_not_filled_on_top():
    facts = whole_facts()
    plan = FillPlan(
        keg=facts.keg,
        capacity_ml=19_000,
        is_empty=False,
        history=facts.fill.keg_history,
        drink=facts.fill.drink,
        volume_ml=10_000,
        set_gauge_pa=300_000,
        drink_sources=frozenset(),
    )
    (finding,) = keg_is_empty(plan, facts.house, NOW)
    assert finding.severity is Severity.STOP
    assert "ingredient of the new one" in finding.statement


def test_x07_what_the_next_drink_contains_itself_is_no_cross_contact(line):
    assert cross_contact(history_of(line=line).residue, ALMOND) == frozenset()


def test_x08_what_two_drinks_left_reaches_the_third(db):
    line = a_line(a_venue(), name="4")
    _carry(line, MILK, hours_ago=6)
    _carry(line, MILK | {"egg"}, hours_ago=4)
    assert cross_contact(history_of(line=line).residue, frozenset()) == MILK | {"egg"}
