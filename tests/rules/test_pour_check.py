"""May I pour this? The pour check fails closed: only a whole and current record pours."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kegsafe.rules.allergens import AllergenFact, State
from kegsafe.rules.codes import code
from kegsafe.rules.facts import DateKind, LotStatus, Trigger
from kegsafe.rules.findings import Outcome, Severity
from kegsafe.rules.limits import LocalLimit
from kegsafe.rules.pour_check import pour_check
from tests.rules.pour_facts import (
    DEFECTS,
    NOW,
    ZONE,
    a_part,
    a_shelf_life,
    added,
    cold,
    drink,
    fill,
    keg_history,
    line_history,
    whole_facts,
)


def rules_of(verdict, severity):
    return {finding.rule for finding in verdict.findings if finding.severity is severity}


def test_a_whole_and_current_record_pours():
    assert pour_check(whole_facts(), NOW).outcome is Outcome.POUR


@pytest.mark.parametrize("defect", DEFECTS, ids=str)
def test_no_single_defect_is_answered_with_pour(defect):
    assert pour_check(DEFECTS[defect](whole_facts()), NOW).outcome is not Outcome.POUR


@given(defects=st.lists(st.sampled_from(sorted(DEFECTS)), min_size=1, max_size=6))
@settings(max_examples=10_000)
def test_a_record_with_missing_late_or_failing_facts_never_pours(defects):
    """10,000 random records. A later defect may undo an earlier one, but never itself."""
    facts = whole_facts()
    # An empty keg leaves nothing for another defect to change, so it comes last.
    for name in sorted(defects, key=lambda defect: defect == "the keg is empty"):
        facts = DEFECTS[name](facts)
    verdict = pour_check(facts, NOW)
    assert verdict.outcome is not Outcome.POUR
    assert rules_of(verdict, Severity.STOP) | rules_of(verdict, Severity.ASK)


@given(late_by=st.timedeltas(timedelta(hours=3, seconds=1), timedelta(days=4000)))
@settings(max_examples=500)
def test_a_record_nobody_kept_up_stops_pouring_by_itself(late_by):
    """The reading of the cooler was an hour old and counts for four."""
    assert pour_check(whole_facts(), NOW + late_by).outcome is not Outcome.POUR


@given(later=st.timedeltas(timedelta(0), timedelta(days=4000)))
@settings(max_examples=200)
def test_waiting_never_turns_a_stop_into_a_pour(later):
    stopped = DEFECTS["the in-keg rule has run out"](whole_facts())
    assert pour_check(stopped, NOW + later).outcome is Outcome.STOP


def test_every_reason_names_its_source():
    for defect in DEFECTS.values():
        for finding in pour_check(defect(whole_facts()), NOW).findings:
            assert finding.source.strip()
            assert finding.statement.strip()


def test_what_a_record_says_is_no_rule_of_the_venue():
    """A rule is the venue's own word; that a keg is on hold is a thing on record."""
    tags = {
        finding.source: finding.verified
        for defect in DEFECTS.values()
        for finding in pour_check(defect(whole_facts()), NOW).findings
        if finding.source.startswith("Record of")
    }
    assert {"Record of this venue", "Record of the lot", "Record of the equipment"} <= set(tags)
    assert set(tags.values()) == {"record"}


def test_the_gravest_reason_is_read_first():
    facts = fill(state="on_hold", state_reason="smells off")(whole_facts())
    facts = cold(read_at=None)(facts)
    assert pour_check(facts, NOW).reason == "On hold: smells off."


def test_a_past_date_is_said_in_one_sentence_and_explained_among_the_reasons():
    verdict = pour_check(DEFECTS["the in-keg rule has run out"](whole_facts()), NOW)
    [passed] = [each for each in verdict.findings if each.rule == "use_by.passed"]
    assert verdict.reason.startswith("Past its date since ")
    assert verdict.reason.count(".") == 1
    assert passed.statement.startswith(f"{verdict.reason} The keg was filled on ")


# The date


def test_the_last_second_of_the_use_by_still_pours_and_the_next_does_not():
    """A use-by includes its day and ends at midnight. [FDF, read]"""
    facts = cold(read_at=datetime(2026, 4, 18, 3, 0, tzinfo=UTC))(whole_facts())
    facts = replace(facts, fill=replace(facts.fill, glass=()))
    midnight = datetime(2026, 4, 18, 0, 0, tzinfo=ZONE)
    assert pour_check(facts, midnight - timedelta(seconds=1)).outcome is Outcome.POUR
    assert pour_check(facts, midnight).outcome is Outcome.STOP


def test_a_tcs_drink_without_a_date_is_stopped_where_the_code_asks_for_a_date_mark():
    """Food without its date mark is discarded. FDA Food Code 3-501.18, via Virginia [read]"""
    undated = a_part(ingredient="Syrup", is_prepared=True, prepared_at=None)
    facts = drink(measured_ph=None, parts=(undated,))(whole_facts())
    verdict = pour_check(facts, NOW)
    assert verdict.use_by is None
    assert "date_marking.no_date" in rules_of(verdict, Severity.STOP)


def test_an_undated_drink_of_measured_acidity_asks_the_manager():
    facts = added(a_part(ingredient="Syrup", is_prepared=True, prepared_at=None))(whole_facts())
    verdict = pour_check(facts, NOW)
    assert (verdict.outcome, verdict.use_by) == (Outcome.ASK, None)


def test_a_best_before_does_not_bind_unless_the_venue_says_so():
    gone = a_part(date_kind=DateKind.BEST_BEFORE, date_on=date(2026, 4, 9))
    facts = added(gone)(whole_facts())
    assert pour_check(facts, NOW).outcome is Outcome.POUR
    strict = replace(facts, house=replace(facts.house, best_before_binds=True))
    assert pour_check(strict, NOW).outcome is Outcome.STOP


# Cold


@pytest.mark.parametrize(
    ("degc", "outcome"),
    [("5.0", Outcome.POUR), ("5.01", Outcome.STOP), ("5.1", Outcome.STOP)],
)
def test_a_tcs_drink_stands_at_or_below_the_cold_holding_limit(degc, outcome):
    """5.0 C is held, 5.1 C is a breach: FDA Food Code 3-501.16(A)(2), cases H23 and H24."""
    facts = drink(measured_ph=None)(cold(temperature_degc=Decimal(degc))(whole_facts()))
    assert pour_check(facts, NOW).outcome is outcome


def test_a_warm_drink_of_measured_acidity_is_a_matter_of_quality():
    verdict = pour_check(cold(temperature_degc=Decimal("9"))(whole_facts()), NOW)
    assert verdict.outcome is Outcome.POUR
    assert "cold_holding.maximum" in rules_of(verdict, Severity.WARN)


def test_a_reading_counts_for_its_hours_and_no_minute_longer():
    at_the_edge = cold(read_at=NOW - timedelta(hours=4))(whole_facts())
    assert pour_check(at_the_edge, NOW).outcome is Outcome.POUR
    assert pour_check(at_the_edge, NOW + timedelta(minutes=1)).outcome is Outcome.ASK


def test_a_code_without_a_chill_limit_asks_until_the_venue_sets_its_own():
    facts = whole_facts()
    in_eu = replace(facts, house=replace(facts.house, code=code("eu")))
    verdict = pour_check(in_eu, NOW)
    assert "cold_holding.maximum" in rules_of(verdict, Severity.ASK)
    own = LocalLimit(
        "cold_holding.maximum", Decimal(5), "degC", date(2026, 1, 1), "", "", None, "mara"
    )
    with_limit = replace(in_eu, house=replace(in_eu.house, local_limits=(own,)))
    assert pour_check(with_limit, NOW).outcome is Outcome.POUR


def test_a_looser_local_limit_shows_on_every_verdict_that_uses_it():
    looser = LocalLimit(
        "cold_holding.maximum",
        Decimal(7),
        "degC",
        date(2026, 1, 1),
        "County health office",
        "CHO 26/118",
        date(2025, 12, 1),
        "mara",
    )
    facts = whole_facts()
    facts = replace(facts, house=replace(facts.house, local_limits=(looser,)))
    shown = [
        finding
        for finding in pour_check(facts, NOW).findings
        if "County health office" in finding.statement
    ]
    assert [finding.severity for finding in shown] == [Severity.WARN]


# Allergens


def test_what_the_last_drink_left_is_declared_as_may_contain():
    verdict = pour_check(keg_history(residue=frozenset({"almond"}))(whole_facts()), NOW)
    assert [each.source for each in verdict.declaration.may_contain] == ["almond"]


def test_a_signed_may_contain_pours_and_still_warns():
    facts = keg_history(residue=frozenset({"almond"}))(whole_facts())
    facts = fill(cross_contact_accepted=frozenset({"almond"}))(facts)
    verdict = pour_check(facts, NOW)
    assert verdict.outcome is Outcome.POUR
    assert "allergens.left_by_last_drink" in rules_of(verdict, Severity.WARN)
    assert [each.source for each in verdict.declaration.may_contain] == ["almond"]


def test_a_signature_for_the_keg_does_not_cover_the_line():
    facts = line_history(residue=frozenset({"almond"}))(whole_facts())
    facts = fill(cross_contact_accepted=frozenset({"almond"}))(facts)
    assert pour_check(facts, NOW).outcome is Outcome.ASK


def test_an_allergen_the_drink_contains_anyway_is_no_cross_contact():
    """Case X07 of the worked cases: residue less the drink's own sources is empty."""
    almond = AllergenFact("almond", State.CONTAINS, None, "Orgeat")
    facts = fill(allergens=(almond,))(keg_history(residue=frozenset({"almond"}))(whole_facts()))
    verdict = pour_check(facts, NOW)
    assert verdict.outcome is Outcome.POUR
    assert verdict.declaration.may_contain == ()


# What is printed


def test_the_verdict_prints_as_json_with_its_named_parts():
    printed = pour_check(whole_facts(), NOW).as_json()
    assert set(printed) == {"outcome", "use_by", "ready_from", "allergens", "findings"}
    assert {"rule", "severity", "statement", "source"} <= set(printed["findings"][0])


def test_the_losing_dates_are_shown_beside_the_one_that_binds():
    facts = drink(shelf_lives=(a_shelf_life(10), a_shelf_life(5, id="shelf_life.kegged.short")))(
        whole_facts()
    )
    shown = {
        finding.rule: finding.statement
        for finding in pour_check(facts, NOW).findings
        if finding.rule.startswith(f"shelf_life.{Trigger.KEGGED}")
    }
    assert "This date binds." in shown["shelf_life.kegged.short"]
    assert "This date binds." not in shown["shelf_life.kegged"]


# Lots


def test_leftovers_thrown_away_do_not_stop_the_keg_they_went_into():
    thrown = a_part(status=LotStatus.DISCARDED, status_reason="end of the week")
    verdict = pour_check(added(thrown)(whole_facts()), NOW)
    assert verdict.outcome is Outcome.POUR
    assert "lot.leftovers_discarded" in rules_of(verdict, Severity.WARN)
