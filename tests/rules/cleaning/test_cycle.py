"""Complete, incomplete, failed: what a cycle is worth, and what is said of it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from kegsafe.rules.cleaning.chemicals import HOT_WATER
from kegsafe.rules.cleaning.cycle import CycleResult, judge_cycle
from kegsafe.rules.cleaning.limits import Active, UnknownSanitiserCode
from kegsafe.rules.cleaning.plans import plans
from kegsafe.rules.cleaning.readings import Means, Reading
from kegsafe.rules.cleaning.records import RecordedStep
from kegsafe.rules.cleaning.vocabulary import Application, Chemistry, StepKind
from kegsafe.rules.codes import codes
from kegsafe.rules.findings import Severity
from tests.rules.cleaning.cleaning_facts import (
    BEGAN,
    DAY,
    FOOD_CODE,
    a_cleaner,
    a_cycle,
    a_sanitiser,
    at,
    band,
    changed,
    d,
    without,
)

LINE = "line.sweet"
LOCK_OUT, FIRST_RINSE, DETERGENT, LAST_RINSE, SANITISE, DRAIN = range(1, 7)


def judged(facts, plan=LINE, code=FOOD_CODE, on=DAY):
    return judge_cycle(plans()[plan], facts, code, on)


def rules_of(verdict, severity):
    return {each.rule for each in verdict.findings if each.severity is severity}


@pytest.mark.parametrize("plan", sorted(plans()))
def test_a_whole_cycle_under_any_starter_plan_is_complete(plan):
    verdict = judged(a_cycle(plan), plan)
    assert (verdict.result, verdict.missing, verdict.broken) == (CycleResult.COMPLETE, (), ())
    assert verdict.counts


@pytest.mark.parametrize("plan", sorted(plans()))
def test_a_cycle_without_any_one_step_does_not_count_and_names_it(plan):
    for step in plans()[plan].steps:
        verdict = judged(without(a_cycle(plan), step.position), plan)
        assert not verdict.counts
        assert any(words.startswith(f"Step {step.position},") for words in verdict.missing)


def test_a_cycle_with_nothing_recorded_is_incomplete():
    verdict = judged(replace(a_cycle(), recorded=()))
    assert verdict.result is CycleResult.INCOMPLETE
    assert len(verdict.missing) == 6


@pytest.mark.parametrize("code", sorted(codes()))
def test_every_food_code_on_file_can_judge_a_cycle(code):
    assert judged(a_cycle(), code=code).result is CycleResult.COMPLETE


def test_a_code_nobody_knows_is_named_with_those_on_file():
    with pytest.raises(UnknownSanitiserCode, match='"atlantis" has no sanitiser table'):
        judged(a_cycle(), code="atlantis")


def test_a_broken_limit_fails_the_cycle_and_says_by_how_much_and_what_to_do():
    verdict = judged(changed(a_cycle(), SANITISE, strength=at(20)))
    assert verdict.result is CycleResult.FAILED
    assert verdict.broken == (
        "Sanitiser was too weak: 20 mg/l, 5 mg/l below 25 mg/l. Make a stronger solution and do "
        "the step again.",
    )


def test_failed_outweighs_incomplete():
    facts = without(changed(a_cycle(), SANITISE, strength=at(20)), DRAIN)
    assert judged(facts).result is CycleResult.FAILED


@pytest.mark.parametrize(
    ("position", "gap", "rule"),
    [
        (DETERGENT, {"chemical": None}, "cleaning.chemical_not_recorded"),
        (DETERGENT, {"strength": None}, "cleaning.strength_not_recorded"),
        (DETERGENT, {"temperature_degc": None}, "cleaning.temperature_not_recorded"),
        (DETERGENT, {"started_at": None}, "cleaning.contact_not_recorded"),
        (DETERGENT, {"ended_at": None}, "cleaning.step_not_ended"),
        (DETERGENT, {"application": None}, "cleaning.application_not_recorded"),
        (LAST_RINSE, {"tap_water_ph": None}, "cleaning.tap_water_ph_not_recorded"),
        (LAST_RINSE, {"outlet_ph": ()}, "cleaning.rinse_not_verified"),
        (SANITISE, {"strength": None}, "cleaning.strength_not_recorded"),
        (SANITISE, {"temperature_degc": None}, "cleaning.temperature_not_recorded"),
        (SANITISE, {"ph": None}, "cleaning.ph_not_recorded"),
        (
            SANITISE,
            {"strength": band(10, 50), "temperature_degc": d(24)},
            "cleaning.strength_unresolved",
        ),
        (
            SANITISE,
            {"strength": Reading(d(150), d(150), Means.DOSED)},
            "cleaning.strength_not_measured",
        ),
        (SANITISE, {"chemical": a_sanitiser(active=None)}, "cleaning.active_not_recorded"),
        (
            SANITISE,
            {"chemical": a_sanitiser(expires_on=None)},
            "cleaning.chemical_expiry_not_recorded",
        ),
        (
            SANITISE,
            {"chemical": a_sanitiser(needs_rinse=None)},
            "cleaning.label_rinse_not_recorded",
        ),
        (SANITISE, {"chemical": a_sanitiser(label_contact_s=None)}, "cleaning.label_not_recorded"),
        (
            SANITISE,
            {"chemical": a_sanitiser(label_at_least_mg_per_l=None)},
            "cleaning.label_not_recorded",
        ),
    ],
    ids=str,
)
def test_what_is_not_recorded_leaves_the_cycle_incomplete(position, gap, rule):
    verdict = judged(changed(a_cycle(), position, **gap))
    assert verdict.result is CycleResult.INCOMPLETE
    assert rule in rules_of(verdict, Severity.ASK)


@pytest.mark.parametrize(
    ("position", "flaw", "rule"),
    [
        (DETERGENT, {"chemical": a_cleaner(is_listed=False)}, "cleaning.chemical_not_listed"),
        (SANITISE, {"chemical": a_sanitiser(is_listed=False)}, "cleaning.chemical_not_listed"),
        (DETERGENT, {"chemical": a_cleaner(Chemistry.ACID)}, "cleaning.wrong_chemical"),
        (DETERGENT, {"chemical": a_sanitiser()}, "cleaning.wrong_chemical"),
        (SANITISE, {"chemical": a_cleaner()}, "cleaning.wrong_chemical"),
        (SANITISE, {"chemical": a_sanitiser(needs_rinse=True)}, "cleaning.label_wants_rinse"),
        (SANITISE, {"chemical": a_sanitiser(label_at_most_mg_per_l=d(100))}, "cleaning.too_strong"),
        (
            SANITISE,
            {"chemical": a_sanitiser(label_contact_s=d(3600))},
            "cleaning.contact_too_short",
        ),
        (DETERGENT, {"chemical": a_cleaner(label_contact_s=d(3600))}, "cleaning.contact_too_short"),
    ],
    ids=str,
)
def test_a_chemical_that_may_not_be_used_so_fails_the_cycle(position, flaw, rule):
    verdict = judged(changed(a_cycle(), position, **flaw))
    assert verdict.result is CycleResult.FAILED
    assert rule in rules_of(verdict, Severity.STOP)


@pytest.mark.parametrize(
    ("expires_on", "result"),
    [
        (date(2026, 4, 13), CycleResult.FAILED),
        (date(2026, 4, 14), CycleResult.COMPLETE),
        (date(2026, 4, 15), CycleResult.COMPLETE),
    ],
)
def test_a_chemical_counts_to_the_end_of_its_last_day(expires_on, result):
    facts = changed(a_cycle(), SANITISE, chemical=a_sanitiser(expires_on=expires_on))
    assert judged(facts).result is result


def test_a_chemical_that_does_not_expire_needs_no_date():
    chemical = a_sanitiser(expires_on=None, does_not_expire=True)
    assert judged(changed(a_cycle(), SANITISE, chemical=chemical)).counts


def test_hot_water_sanitises_without_label_or_strength():
    facts = changed(
        a_cycle(), SANITISE, chemical=HOT_WATER, strength=None, ph=None, temperature_degc=d(77)
    )
    assert judged(facts).counts
    assert not judged(changed(facts, SANITISE, temperature_degc=d("76.9"))).counts


def test_where_a_code_has_no_table_hot_water_asks_the_authority():
    facts = changed(a_cycle(), SANITISE, chemical=HOT_WATER, strength=None, temperature_degc=d(90))
    verdict = judged(facts, code="eu")
    assert "cleaning.no_code_limit" in rules_of(verdict, Severity.ASK)


def test_each_tap_of_a_line_is_read_after_the_rinse():
    two_taps = replace(a_cycle(), outlets=2)
    assert judged(two_taps).missing == (
        "The pH of the last rinse water is on record for 1 of 2 outlets. Read it at every one.",
    )
    one_bad = changed(two_taps, LAST_RINSE, outlet_ph=(at("7.4"), at("9.5")))
    assert judged(one_bad).broken == (
        "At outlet 2 the rinse water reads pH 9.5, the tap water pH 7.4: 1.6 pH more than the "
        "0.5 pH allowed between them. Detergent may still be in it. Rinse on, and read again.",
    )
    assert judged(changed(two_taps, LAST_RINSE, outlet_ph=(at("7.4"), at("7.2")))).counts


@pytest.mark.parametrize(
    ("tap_water", "rinse", "result"),
    [
        (band(7, "7.5"), band(7, "7.5"), CycleResult.COMPLETE),
        (band(7, 8), band(7, 8), CycleResult.INCOMPLETE),
        (band(7, 8), band("8.6", 9), CycleResult.FAILED),
        (at(7), band(7, None), CycleResult.INCOMPLETE),
    ],
    ids=str,
)
def test_a_ph_strip_too_coarse_for_the_tolerance_proves_nothing(tap_water, rinse, result):
    facts = changed(a_cycle(), LAST_RINSE, tap_water_ph=tap_water, outlet_ph=(rinse,))
    assert judged(facts).result is result


def again(facts, position, **changes):
    """The cycle with one more attempt at a step, and those after it done again."""
    hour = timedelta(hours=6)
    later = tuple(
        replace(
            each,
            started_at=each.started_at + hour,
            ended_at=each.ended_at + hour,
            **(changes if each.position == position else {}),
        )
        for each in facts.recorded
        if each.position >= position
    )
    return replace(facts, recorded=(*facts.recorded, *later))


def test_a_step_done_again_counts_by_its_last_attempt_and_is_remarked_on():
    weak = changed(a_cycle(), SANITISE, strength=at(20))
    verdict = judged(again(weak, SANITISE, strength=at(150)))
    assert verdict.result is CycleResult.COMPLETE
    assert verdict.remarks == (
        "Step 5, sanitise failed once and was done again; the last attempt counts.",
    )


def test_a_later_attempt_that_fails_is_the_one_that_counts():
    assert judged(again(a_cycle(), SANITISE, strength=at(20))).result is CycleResult.FAILED


def test_washing_again_without_rinsing_again_does_not_count():
    facts = a_cycle()
    wash = next(each for each in facts.recorded if each.position == DETERGENT)
    late = replace(
        wash,
        started_at=wash.started_at + timedelta(hours=6),
        ended_at=wash.ended_at + timedelta(hours=6),
    )
    verdict = judged(replace(facts, recorded=(*facts.recorded, late)))
    assert verdict.result is CycleResult.INCOMPLETE
    assert "cleaning.out_of_order" in rules_of(verdict, Severity.ASK)


def test_times_that_run_backwards_prove_nothing():
    verdict = judged(changed(a_cycle(), DRAIN, ended_at=BEGAN))
    assert verdict.result is CycleResult.INCOMPLETE


def test_a_keg_opened_before_its_pressure_was_relieved_fails():
    facts = a_cycle("keg")
    late = changed(facts, 1, ended_at=BEGAN + timedelta(minutes=30))
    assert judged(late, "keg").broken == (
        "Step 2, rinse began before step 1, depressurise had ended. Relieve the pressure first, "
        "every time: start the cycle again.",
    )


@pytest.mark.parametrize(
    "sanitiser", [a_sanitiser(Active.CHLORINE), a_sanitiser(Active.PEROXYACETIC_ACID)]
)
def test_acid_with_no_rinse_before_the_next_chemical_fails_if_the_two_must_not_meet(sanitiser):
    facts = changed(without(a_cycle("line.acid"), 6), 7, chemical=sanitiser)
    broken = rules_of(judged(facts, "line.acid"), Severity.STOP)
    assert ("cleaning.mixed" in broken) is (sanitiser.active is Active.CHLORINE)


def test_caustic_and_acid_with_no_rinse_between_fail():
    verdict = judged(without(a_cycle("line.acid"), LAST_RINSE), "line.acid")
    assert "cleaning.mixed" in rules_of(verdict, Severity.STOP)


def test_an_allergen_clean_needs_its_test_and_two_people():
    facts = a_cycle("line.allergen")
    assert judged(facts, "line.allergen").counts
    inspect = next(
        step.position for step in plans()["line.allergen"].steps if step.kind is StepKind.INSPECT
    )
    failed = judged(changed(facts, inspect, passed=False), "line.allergen")
    assert failed.result is CycleResult.FAILED
    for verifier in (None, "", "  ", "Ana", " ana "):
        alone = judged(replace(facts, verified_by=verifier), "line.allergen")
        assert alone.result is CycleResult.INCOMPLETE


def test_a_step_the_plan_does_not_have_is_asked_about():
    stray = RecordedStep(position=99, ended_at=BEGAN)
    facts = a_cycle()
    verdict = judged(replace(facts, recorded=(*facts.recorded, stray)))
    assert rules_of(verdict, Severity.ASK) == {"cleaning.unknown_step"}


def test_a_soak_overnight_fails():
    facts = changed(
        a_cycle(),
        DETERGENT,
        application=Application.SOAKED,
        started_at=BEGAN - timedelta(hours=8),
    )
    assert "cleaning.contact_too_long" in rules_of(judged(facts), Severity.STOP)


def test_a_flow_nobody_timed_is_a_remark_and_breaks_nothing():
    verdict = judged(changed(a_cycle(), DETERGENT, flow_l_min=None))
    assert verdict.counts
    assert any("Time a jug" in remark for remark in verdict.remarks)


def test_a_value_at_its_limit_counts_and_is_remarked_on():
    verdict = judged(changed(a_cycle(), DETERGENT, strength=at(20_000)))
    assert verdict.counts
    assert verdict.remarks == ("The strength of Line cleaner, 2 %, is at its limit.",)


def test_a_verdict_prints_as_json_with_result_and_findings():
    printed = judged(changed(a_cycle(), SANITISE, strength=at(20))).as_json()
    assert printed["result"] == "failed"
    assert printed["findings"][0]["rule"] == "cleaning.too_weak"
