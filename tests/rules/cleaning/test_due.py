"""When is it next to be cleaned: by interval, event, idle time, failure, or never cleaned."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.cleaning.cycle import CycleResult
from kegsafe.rules.cleaning.due import CycleHistory, Due, DueStatus, ItemFacts, due
from kegsafe.rules.cleaning.intervals import intervals, intervals_of, laws_of, regions
from kegsafe.rules.cleaning.plans import plans
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment
from tests.rules.cleaning.cleaning_facts import ZONE

CLEANED = datetime(2026, 4, 1, 21, 0, tzinfo=UTC)  # Wednesday, 22:00 in London


def local(day, hour=0, minute=0, second=0, month=4):
    return datetime(2026, month, day, hour, minute, second, tzinfo=ZONE)


def a_line(**facts):
    known = {"name": "Line 1", "equipment": Equipment.LINE, "last_used_at": None}
    return ItemFacts(**{**known, **facts})


def a_keg(**facts):
    known = {"name": "Keg K7", "equipment": Equipment.KEG, "was_used_since_clean": False}
    return ItemFacts(**{**known, **facts})


def when(now, plan="line.sweet", item=None, history=None, laws=()) -> Due:
    return due(
        item or a_line(last_used_at=now),
        plans()[plan],
        history or CycleHistory(CLEANED),
        now,
        ZONE,
        laws,
    )


@pytest.mark.parametrize(
    ("now", "status"),
    [
        (local(1, 23), DueStatus.LATER),
        (local(2, 0), DueStatus.THIS_WEEK),
        (local(7, 23, 59, 59), DueStatus.THIS_WEEK),
        (local(8, 0), DueStatus.TODAY),
        (local(8, 23, 59, 58), DueStatus.TODAY),
        (local(9, 0), DueStatus.OVERDUE),
        (local(30, 12), DueStatus.OVERDUE),
    ],
)
def test_seven_days_run_to_the_end_of_the_seventh_day(now, status):
    assert when(now, item=a_line(holds_a_drink=True)).status is status


def test_the_reason_says_the_interval_what_it_rests_on_and_the_last_clean():
    found = when(local(8, 12))
    assert found.reason == "Every 7 days (house rule). Last cleaned Wed 1 Apr 2026."
    assert found.reasons[0].rule == "line.sweet"


def test_days_are_the_venues_own():
    """Cleaned 23:30 on the 1st in London is already the 2nd in Auckland."""
    late = CycleHistory(datetime(2026, 4, 1, 22, 30, tzinfo=UTC))
    auckland = ZoneInfo("Pacific/Auckland")
    item, now = a_line(), datetime(2026, 4, 3, tzinfo=UTC)
    there = due(item, plans()["line.sweet"], late, now, auckland)
    here = due(item, plans()["line.sweet"], late, now, ZONE)
    assert there.due_at.astimezone(auckland).date().day == 5  # idle for 3 days since the 2nd
    assert here.due_at.astimezone(ZONE).date().day == 4


@pytest.mark.parametrize(("month", "day"), [(3, 29), (10, 25)])
def test_a_night_when_the_clocks_change_still_ends_at_midnight(month, day):
    cleaned = datetime(2026, month, day - 1, 22, 0, tzinfo=ZONE)
    found = when(local(day, 12, month=month), "line.fresh", history=CycleHistory(cleaned))
    assert found.status is DueStatus.TODAY
    assert f"{found.due_at.astimezone(ZONE):%m-%d %H:%M:%S}" == f"{month:02}-{day:02} 23:59:59"


def test_what_was_never_cleaned_is_due_now():
    now = local(8, 12)
    found = when(now, history=CycleHistory(None))
    assert (found.status, found.due_at) == (DueStatus.OVERDUE, now)
    assert found.reason == "No clean of Line 1 that counts is on record."


@pytest.mark.parametrize(
    ("result", "words"),
    [(CycleResult.FAILED, "failed"), (CycleResult.INCOMPLETE, "was not finished on record")],
)
def test_a_clean_that_did_not_count_is_due_again_the_same_day(result, words):
    history = CycleHistory(CLEANED, local(3, 10), result)
    found = when(local(3, 12), history=history)
    assert found.status is DueStatus.TODAY
    assert found.reason == f"The clean of Line 1 on Fri 3 Apr 2026 {words}."
    assert when(local(4, 0), history=history).status is DueStatus.OVERDUE


def test_a_failure_before_the_last_good_clean_is_over():
    history = CycleHistory(CLEANED, CLEANED - timedelta(hours=3), CycleResult.FAILED)
    assert when(local(2, 12), history=history).reasons[0].rule != "cleaning.last_failed"


def test_a_line_unused_for_three_days_is_cleaned_before_the_next_pour():
    idle = a_line(last_used_at=local(2, 20))
    assert when(local(4, 12), item=idle).status is DueStatus.THIS_WEEK
    found = when(local(5, 12), item=idle)
    assert found.status is DueStatus.TODAY
    assert found.reason.startswith("After 3 days without a pour (common practice, no source).")


def test_a_change_of_drink_with_another_allergen_makes_it_due_and_names_it():
    changed = a_line(
        last_used_at=local(2, 20),
        left=frozenset({"almond", "milk"}),
        next_sources=frozenset({"milk"}),
    )
    found = when(local(2, 22), item=changed)
    assert found.status is DueStatus.TODAY
    assert found.reason == "The last drink left almond in Line 1; the next one is without."


@pytest.mark.parametrize("next_sources", [None, frozenset({"almond", "milk"})])
def test_no_drink_planned_or_one_with_the_same_allergens_makes_nothing_due(next_sources):
    same = a_line(last_used_at=local(2, 20), left=frozenset({"almond"}), next_sources=next_sources)
    assert when(local(2, 22), item=same).status is DueStatus.THIS_WEEK


@pytest.mark.parametrize(
    ("facts", "status"),
    [
        ({"was_used_since_clean": False}, DueStatus.WAITS),
        ({"was_used_since_clean": True, "holds_a_drink": True}, DueStatus.WAITS),
        ({"was_used_since_clean": True, "last_used_at": local(8, 10)}, DueStatus.TODAY),
        ({"was_used_since_clean": True, "last_used_at": local(7, 10)}, DueStatus.OVERDUE),
        ({"was_used_since_clean": None}, DueStatus.TODAY),
        ({"was_used_since_clean": True}, DueStatus.TODAY),
    ],
    ids=str,
)
def test_a_keg_is_due_after_each_use_and_a_blank_counts_as_used(facts, status):
    assert when(local(8, 12), "keg", a_keg(**facts)).status is status


def test_a_keg_with_nothing_to_wait_for_says_what_it_waits_for():
    found = when(local(8, 12), "keg", a_keg())
    assert found.reason == (
        "Nothing on record makes Keg K7 due: Keg, after each use waits for an event."
    )


@pytest.mark.parametrize(
    ("noted", "says_so"),
    [
        (CLEANED - timedelta(seconds=1), False),
        (CLEANED, False),
        (CLEANED + timedelta(seconds=1), True),
    ],
)
def test_a_clean_noted_without_a_plan_after_the_last_good_one_moves_no_day_and_says_so(
    noted, says_so
):
    found = when(local(7, 12), history=CycleHistory(CLEANED, noted_at=noted))
    assert found.due_at == when(local(7, 12)).due_at
    assert ("followed no plan" in found.reason) is says_so


def test_a_piece_with_nothing_but_a_noted_clean_is_due_and_says_why_that_does_not_count():
    found = when(local(7, 12), history=CycleHistory(None, noted_at=CLEANED))
    assert found.status is DueStatus.OVERDUE
    assert found.reason == (
        "No clean of Line 1 that counts is on record. A clean noted for Wed 1 Apr 2026 followed "
        "no plan: it shows no strength, time or rinse, so it does not count."
    )


def test_where_the_code_gives_no_number_the_makers_is_asked_for():
    silent = intervals_of("us_fda_2022", Equipment.ICE_BIN, DrinkKind.ANY)
    found = when(
        local(8, 12),
        "keg",
        ItemFacts(name="Ice bin", equipment=Equipment.ICE_BIN, was_used_since_clean=False),
        laws=silent,
    )
    assert found.status is DueStatus.NOT_KNOWN
    assert found.reason.endswith("Enter how often the maker says.")


@pytest.mark.parametrize(
    ("fills", "status"), [(2, DueStatus.LATER), (3, DueStatus.TODAY), (None, DueStatus.TODAY)]
)
def test_after_so_many_fills_it_is_due_and_a_count_nobody_kept_is_due(fills, status):
    parts = replace(
        plans()["keg"],
        intervals=(intervals()["keg.parts_plain"], intervals()["keg.parts_plain_days"]),
    )
    item = a_keg(fills_since_clean=fills, last_used_at=local(8, 10))
    assert due(item, parts, CycleHistory(CLEANED), local(8, 12), ZONE).status is status


def test_a_law_stricter_than_the_plan_binds_and_names_its_clause():
    """Ohio Administrative Code 4301:1-1-28(A)(2): mixed beverages, every 30 days. [read]"""
    plan = replace(plans()["line.sweet"], intervals=(replace(intervals()["line.sweet"], every=45),))
    ohio = laws_of("us_ohio", Equipment.LINE, DrinkKind.SWEET)
    found = due(a_line(holds_a_drink=True), plan, CycleHistory(CLEANED), local(20, 12), ZONE, ohio)
    assert (found.due_at.astimezone(ZONE).date().day, found.reasons[0].rule) == (
        1,  # of May: thirty days after the first of April
        "ohio.mixed_beverage_line",
    )
    assert found.reasons[0].source == "Ohio Administrative Code, 4301:1-1-28(A)(2)"


def test_a_piece_whose_drink_nobody_named_is_held_by_each_law_for_its_kind():
    every = laws_of("us_ohio", Equipment.LINE, DrinkKind.ANY)
    assert [law.rule for law in every] == ["ohio.beer_line", "ohio.mixed_beverage_line"]
    assert laws_of("us_ohio", Equipment.KEG, DrinkKind.ANY) == ()


def test_a_model_code_is_no_law_of_a_place_and_no_place_has_no_law():
    assert laws_of("us_fda_2022", Equipment.LINE, DrinkKind.FRESH) == ()
    assert laws_of("", Equipment.LINE, DrinkKind.FRESH) == ()


def test_the_regions_are_those_whose_law_is_on_file():
    assert regions() == {
        "us_ohio": "Ohio, US",
        "us_pennsylvania": "Pennsylvania, US",
        "us_rhode_island": "Rhode Island, US",
    }


def test_a_law_stricter_than_the_plan_wins_and_a_looser_one_is_shown_behind():
    ohio = intervals_of("us_ohio", Equipment.LINE, DrinkKind.SWEET)
    found = when(local(2, 12), laws=ohio)
    assert found.due_at == when(local(2, 12)).due_at
    assert [reason.rule for reason in found.reasons] == [
        "line.idle_3",
        "line.sweet",
        "ohio.mixed_beverage_line",
    ]


@pytest.mark.parametrize(
    ("now", "status"),
    [
        (CLEANED + timedelta(hours=3), DueStatus.TODAY),
        (CLEANED + timedelta(hours=4), DueStatus.OVERDUE),
    ],
)
def test_hours_run_through_and_do_not_wait_for_the_end_of_the_day(now, status):
    jug = ItemFacts(name="Jug", equipment=Equipment.JUG, was_used_since_clean=False)
    assert when(now, "jug.fresh", jug).status is status


@given(
    cleaned_hours_ago=st.integers(0, 2000),
    used_hours_ago=st.none() | st.integers(0, 2000),
    plan=st.sampled_from(sorted(plans())),
    was_used=st.none() | st.booleans(),
)
def test_time_alone_never_makes_a_clean_less_due(cleaned_hours_ago, used_hours_ago, plan, was_used):
    order = [
        DueStatus.NOT_KNOWN,
        DueStatus.WAITS,
        DueStatus.LATER,
        DueStatus.THIS_WEEK,
        DueStatus.TODAY,
        DueStatus.OVERDUE,
    ]
    now = local(20, 12)
    used = None if used_hours_ago is None else now - timedelta(hours=used_hours_ago)
    item = ItemFacts(
        name="It",
        equipment=plans()[plan].equipment,
        last_used_at=used,
        was_used_since_clean=was_used if used else False,
        fills_since_clean=0,
    )
    history = CycleHistory(now - timedelta(hours=cleaned_hours_ago))
    ranks = [
        order.index(due(item, plans()[plan], history, now + timedelta(days=days), ZONE).status)
        for days in range(0, 30, 3)
    ]
    assert ranks == sorted(ranks)
