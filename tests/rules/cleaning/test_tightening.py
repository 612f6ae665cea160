"""A venue's copy of a plan: as strict as law and model code, and sound in itself."""

from dataclasses import replace
from datetime import date

import pytest

from kegsafe.rules.cleaning.guidance import Basis, Bound, Citation
from kegsafe.rules.cleaning.intervals import intervals
from kegsafe.rules.cleaning.plans import Approval, Contact, plans
from kegsafe.rules.cleaning.sanitise_step import sanitising_again, without_sanitising
from kegsafe.rules.cleaning.tightening import copy_findings, plan_findings
from kegsafe.rules.cleaning.vocabulary import Application, LimitFrom, StepKind, Verification
from kegsafe.rules.findings import Severity
from tests.rules.cleaning.cleaning_facts import d

LINE, KEG = plans()["line.sweet"], plans()["keg"]
HOUSE = Citation(Basis.HOUSE, "This bar", "", "venue")


def without(plan, kind):
    """The plan without its steps of one kind, numbered anew."""
    kept = [step for step in plan.steps if step.kind is not kind]
    return replace(
        plan, steps=tuple(replace(step, position=n) for n, step in enumerate(kept, start=1))
    )


def with_step(plan, at, **changes):
    return replace(
        plan,
        steps=tuple(
            replace(step, **changes) if step.position == at else step for step in plan.steps
        ),
    )


def own(minimum, maximum, unit):
    ends = (None if end is None else d(end) for end in (minimum, maximum))
    return Bound("house.own", *ends, unit, HOUSE)


def said(copy, starter=LINE):
    return {(each.rule, each.severity) for each in copy_findings(copy, starter)}


@pytest.mark.parametrize("key", sorted(plans()))
def test_every_starter_is_sound_and_no_looser_than_itself(key):
    assert copy_findings(plans()[key], plans()[key]) == ()


@pytest.mark.parametrize("key", sorted(plans()))
def test_every_starter_that_washes_sanitises_after(key):
    kinds = [step.kind for step in plans()[key].steps]
    if StepKind.DETERGENT in kinds:
        assert StepKind.SANITISE in kinds[kinds.index(StepKind.DETERGENT) :]


def test_a_plan_without_steps_is_unsound():
    assert plan_findings(replace(LINE, steps=()))[0].rule == "plan.no_steps"


def test_a_plan_with_a_gap_in_its_numbers_is_unsound():
    assert plan_findings(with_step(LINE, 6, position=9))[0].rule == "plan.positions"


def test_detergent_without_a_rinse_after_it_is_unsound():
    assert ("plan.detergent_not_rinsed", Severity.STOP) in said(without(LINE, StepKind.RINSE))


@pytest.mark.parametrize("starter", [LINE, KEG], ids=["line", "keg"])
def test_the_rinse_after_caustic_is_proved_by_ph(starter):
    rinse = next(s for s in starter.steps if s.verification is Verification.TAP_WATER_PH)
    copy = with_step(starter, rinse.position, verification=Verification.NONE)
    assert ("plan.rinse_not_proved", Severity.STOP) in said(copy, starter)


def test_a_keg_is_relieved_first():
    assert ("plan.pressure_not_relieved", Severity.STOP) in said(
        without(KEG, StepKind.DEPRESSURISE), KEG
    )


def test_leaving_out_the_sanitise_step_is_looser_than_the_model_code():
    found = said(without(LINE, StepKind.SANITISE))
    assert ("plan.step_left_out", Severity.STOP) in found
    assert ("plan.not_sanitised", Severity.WARN) in found


APPROVAL = Approval(
    authority="Port Amber health office",
    reference="letter 31/26",
    approved_on=date(2026, 3, 2),
    reason="The line's maker warns of residue",
)


def test_the_sanitise_step_may_be_left_out_as_the_authority_allowed_and_it_is_named():
    found = copy_findings(without_sanitising(LINE, APPROVAL), LINE)
    assert {finding.severity for finding in found} == {Severity.WARN}
    for finding in found:
        assert "Port Amber health office (letter 31/26, 2026-03-02)" in finding.statement
        assert "The line's maker warns of residue" in finding.statement


def test_the_approval_allows_no_other_step_to_be_left_out():
    changed = without_sanitising(without(LINE, StepKind.DRAIN), APPROVAL)
    assert Severity.STOP in {finding.severity for finding in copy_findings(changed, LINE)}


def test_a_plan_without_its_sanitise_step_is_numbered_anew_and_can_have_it_back():
    changed = without_sanitising(LINE, APPROVAL)
    assert [step.position for step in changed.steps] == list(range(1, len(LINE.steps)))
    assert sanitising_again(changed, LINE) == LINE


def test_leaving_out_a_step_of_practice_is_the_venues_own_decision():
    (finding,) = copy_findings(without(KEG, StepKind.REASSEMBLE), KEG)
    assert (finding.rule, finding.severity) == ("plan.step_left_out", Severity.WARN)
    assert finding.statement.endswith(
        "This rests on practice without a source: the venue's own decision."
    )


@pytest.mark.parametrize(
    ("strength", "is_looser"),
    [
        (own(20_000, 30_000, "mg/l"), False),
        (own(25_000, 30_000, "mg/l"), False),
        (own(20_000, 29_000, "mg/l"), False),
        (own(19_999, 30_000, "mg/l"), True),
        (own(20_000, 30_001, "mg/l"), True),
        (own(20_000, None, "mg/l"), True),
        (None, True),
    ],
    ids=str,
)
def test_a_strength_outside_the_starters_range_is_looser(strength, is_looser):
    found = said(with_step(LINE, 3, strength=strength))
    assert (("plan.limit_looser", Severity.WARN) in found) is is_looser


def test_a_shorter_contact_time_is_looser_and_a_longer_one_is_not():
    for seconds, is_looser in ((899, True), (900, False), (1800, False)):
        contact = (Contact(Application.CIRCULATED, own(seconds, None, "s")),)
        found = said(with_step(LINE, 3, contacts=contact))
        assert (("plan.limit_looser", Severity.WARN) in found) is is_looser


def test_a_wider_ph_tolerance_is_looser():
    found = said(with_step(LINE, 4, ph_tolerance=own(None, "0.6", "pH")))
    assert ("plan.limit_looser", Severity.WARN) in found


def test_a_limit_of_the_code_may_not_be_dropped():
    found = said(with_step(LINE, 5, strength_from=LimitFrom.NOBODY))
    assert ("plan.limit_looser", Severity.STOP) in found


@pytest.mark.parametrize(("days", "is_looser"), [(6, False), (7, False), (8, True)])
def test_a_longer_interval_than_the_houses_is_said(days, is_looser):
    weekly, *others = LINE.intervals
    copy = replace(LINE, intervals=(replace(weekly, every=days), *others))
    assert (("plan.interval_looser", Severity.WARN) in said(copy)) is is_looser


def test_a_longer_interval_than_the_law_stops():
    law = intervals()["ohio.mixed_beverage_line"]
    starter = replace(LINE, intervals=(law,))
    copy = replace(LINE, intervals=(replace(law, every=31),))
    assert said(copy, starter) == {("plan.interval_looser", Severity.STOP)}


def test_hours_are_held_against_days():
    copy = replace(LINE, intervals=(intervals()["fda.tcs_in_use"], *LINE.intervals[1:]))
    assert said(copy) == set()


def test_an_allergen_clean_that_tests_for_nothing_is_unsound():
    copy = replace(LINE, is_allergen_clean=True)
    assert ("plan.allergen_clean_not_tested", Severity.STOP) in said(copy)


def test_one_person_where_the_starter_asks_for_two_is_said():
    starter = plans()["line.allergen"]
    assert said(replace(starter, needs_second_person=False), starter) == {
        ("plan.second_person_left_out", Severity.WARN)
    }
