"""A line whose clean is overdue asks for the manager, by the rule of the list of what is due."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.cleaning import services as cleaning
from kegsafe.cleaning.queries import due_of, piece_key
from kegsafe.pour.queries import keg_view
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.rules.cleaning.intervals import intervals
from kegsafe.rules.findings import Severity
from kegsafe.rules.pour_check import pour_check
from kegsafe.venues.services import amend_venue
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
    a_keg,
    a_lot,
    a_person,
    a_place,
    a_recipe,
    a_recorder,
    a_tap,
    a_tapping,
    a_venue,
    an_ingredient,
)
from tests.cleaning.cycle_acts import Cleaner, a_plan
from tests.query_counts import queries_of

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def tap(venue):
    return a_tap(venue)


def filled(venue, keg=None):
    """A drink put into a keg now."""
    spirit = an_ingredient(venue, category="spirit", total_so2_mg_per_l=Decimal(0))
    batch = a_batch(venue, a_lot(venue, ingredient=spirit), recipe=a_recipe(venue, spirit))
    return a_fill(venue, batch=batch, keg=keg, rest_hours=0, place=a_place(venue))


def tapped(venue, tap):
    """A drink put on the tap now."""
    return a_tapping(venue, fill=filled(venue), tap=tap)


def in_region(venue, region):
    """The venue lies in a region whose law on lines is on file; nowhere for an empty one."""
    amend_venue(venue=venue, changes={"region": region}, reason="Moved", by=a_recorder(venue))


def a_keg_plan(venue, rule):
    """The starter plan for kegs, owed by one more interval of shared/ besides."""
    plan = a_plan(venue, "keg")
    rules = plan.as_rules()
    changed = replace(rules, intervals=(*rules.intervals, intervals()[rule]))
    return cleaning.change_plan(
        plan=plan, changed=changed, reason="Owed by the clock too", by=a_recorder(venue)
    )


def cleaned(venue, plan, piece):
    """One whole cycle of a plan, closed now."""
    cleaner = Cleaner(venue)
    (cycle,) = cleaner.starts(plan, piece)
    cleaner.does(cycle, *(step.position for step in cycle.plan.as_rules().steps))
    return cleaning.close_cycle(cycle=cycle, by=cleaner.by)


def late_on(venue, cycle, days):
    """23:00 on the venue's clock, so many of its days after a cycle."""
    return venue.local(cycle.ended_at).replace(hour=23, minute=0) + timedelta(days=days)


def asked(venue, tapping, at):
    return asked_of(venue, tapping.fill.keg, at)


def asked_of(venue, keg, at):
    view = keg_view(venue, keg.label_code, at)
    findings = pour_check(view.facts, at).findings
    return [each for each in findings if each.rule == "cleaning.overdue"]


def overdue_by_the_list(venue, piece, at):
    found = due_of(venue, at, only={piece_key(piece)})
    return [piece for piece in found if piece.due.status is DueStatus.OVERDUE]


def assert_asked_as_listed(found, listed):
    """Each clean the list calls overdue is asked about, with its reason and source; no other is."""
    assert sorted((each.statement, each.source) for each in found) == sorted(
        (
            f"The clean of {piece.name} is overdue ({piece.plan.name}): {piece.due.reason}",
            piece.due.reasons[0].source,
        )
        for piece in listed
    )


def test_a_line_that_was_never_cleaned_by_its_plan_is_asked_about(venue, tap):
    a_plan(venue)
    a_clean(venue, tap.line)
    tapping = tapped(venue, tap)
    (finding,) = asked(venue, tapping, timezone.now())
    assert finding.severity is Severity.ASK
    assert f"The clean of Line {tap.line.name} is overdue" in finding.statement


def test_a_bar_without_plans_is_asked_nothing(venue, tap):
    a_clean(venue, tap.line)
    assert asked(venue, tapped(venue, tap), timezone.now()) == []


@pytest.mark.parametrize("days", [0, 1, 3, 6, 7, 8, 13, 14, 15, 30])
def test_it_is_asked_exactly_when_the_list_of_what_is_due_says_overdue(venue, tap, days):
    """`due_of` needs eleven queries for it; the pour check reads five columns."""
    cleaned(venue, a_plan(venue), tap.line)
    tapping = tapped(venue, tap)
    at = timezone.now() + timedelta(days=days)
    assert_asked_as_listed(asked(venue, tapping, at), overdue_by_the_list(venue, tap.line, at))


@pytest.mark.parametrize(
    ("region", "plan", "last_day", "clause"),
    [
        ("", "line.plain", 14, "cleaning summary"),
        ("us_pennsylvania", "line.plain", 7, "Pennsylvania Code, title 40, 5.51"),
        ("us_ohio", "line.plain", 14, "cleaning summary"),
        ("us_ohio", "line.acid", 14, "4301:1-1-28(A)(1)"),
        ("us_rhode_island", "line.acid", 28, "Rhode Island General Laws, 3-7-25(a)"),
    ],
)
def test_the_stricter_of_plan_and_law_asks_as_it_does_on_the_list(
    venue, tap, region, plan, last_day, clause
):
    """The days as the clauses give them: Pennsylvania Code title 40, 5.51, 7 days [second-hand];
    Ohio Administrative Code 4301:1-1-28(A)(1), beer, 14 days [read]; Rhode Island General Laws
    3-7-25(a), 4 weeks [read]. The plans are owed every 14 and every 90 days; nobody said what the
    line carries, so every law on lines holds."""
    in_region(venue, region)
    cycle = cleaned(venue, a_plan(venue, plan), tap.line)
    tapping = tapped(venue, tap)
    days_asked = []
    for days in range(31):
        at = late_on(venue, cycle, days)
        found = asked(venue, tapping, at)
        assert_asked_as_listed(found, overdue_by_the_list(venue, tap.line, at))
        days_asked += [days] * len(found)
        assert all(clause in finding.source for finding in found)
    assert days_asked == list(range(last_day + 1, 31))


def test_a_law_on_another_drink_does_not_ask(venue, tap):
    """Ohio Administrative Code 4301:1-1-28(A)(2): mixed beverages, 30 days; beer has 14. [read]"""
    in_region(venue, "us_ohio")
    cycle = cleaned(venue, a_plan(venue, "line.acid"), tap.line)
    cleaning.say_drink_carried(piece=tap.line, drink_kind="sweet", by=a_recorder(venue))
    tapping = tapped(venue, tap)
    assert asked(venue, tapping, late_on(venue, cycle, 30)) == []
    (finding,) = asked(venue, tapping, late_on(venue, cycle, 31))
    assert finding.source == "Ohio Administrative Code, 4301:1-1-28(A)(2)"
    assert finding.severity is Severity.ASK


def test_a_law_is_held_against_the_plan_of_the_routine_alone(venue, tap):
    """Of two plans overdue on one line, one names the law: the list says the same of both."""
    in_region(venue, "us_pennsylvania")
    cleaner, now = Cleaner(venue), timezone.now()
    for plan, hours_ago in (("line.acid", 12), ("line.plain", 6)):
        began = now - timedelta(hours=hours_ago)
        (begun,) = cleaner.starts(a_plan(venue, plan), tap.line, at=began)
        cycle = cleaner.does_all(begun)
    tapping = tapped(venue, tap)
    # The acid clean of 90 days may have ended a day before the other.
    for days, asks in ((7, 0), (8, 1), (89, 1), (91, 2)):
        at = late_on(venue, cycle, days)
        found = asked(venue, tapping, at)
        assert_asked_as_listed(found, overdue_by_the_list(venue, tap.line, at))
        assert len(found) == asks


@pytest.mark.parametrize(("region", "asks"), [("", 0), ("us_ohio", 1)])
def test_a_line_whose_only_plan_waits_for_an_event_is_asked_about_under_a_law(
    venue, tap, region, asks
):
    in_region(venue, region)
    a_plan(venue, "line.allergen")
    a_clean(venue, tap.line)
    tapping = tapped(venue, tap)
    at = timezone.now()
    assert len(asked(venue, tapping, at)) == asks
    assert len(overdue_by_the_list(venue, tap.line, at)) == asks


@pytest.mark.parametrize("days", [0, 7, 14, 15, 30, 31])
def test_a_line_without_a_plan_is_in_neither_under_a_law(venue, tap, days):
    """Only a cycle of a plan could show that a law was kept: the list has nothing to judge by."""
    in_region(venue, "us_ohio")
    a_clean(venue, tap.line)
    tapping = tapped(venue, tap)
    at = timezone.now() + timedelta(days=days)
    assert asked(venue, tapping, at) == []
    assert overdue_by_the_list(venue, tap.line, at) == []


def test_the_day_after_the_interval_is_the_first_that_asks(venue, tap):
    """The plan's own interval, as it stands in its document."""
    plan = a_plan(venue)
    days = min(each.every for each in plan.as_rules().intervals if each.unit == "day")
    cleaned_at = venue.local(cleaned(venue, plan, tap.line).ended_at)
    tapping = tapped(venue, tap)
    last = cleaned_at.replace(hour=23, minute=59, second=58) + timedelta(days=days)
    assert asked(venue, tapping, last) == []
    assert len(asked(venue, tapping, last + timedelta(seconds=2))) == 1


def test_a_full_keg_is_asked_about_when_the_last_second_of_its_interval_is_there(venue):
    """Posts, poppets, tubes and seals: every 90 days. [common practice, no source]"""
    keg = a_keg(venue)
    cycle = cleaned(venue, a_keg_plan(venue, "keg.parts_plain_days"), keg)
    filled(venue, keg)
    day = venue.local(cycle.ended_at) + timedelta(days=90)
    last_second = day.replace(hour=23, minute=59, second=59, microsecond=0)
    for at, asks in (
        (last_second - timedelta(seconds=1), 0),
        (last_second, 1),
        (last_second + timedelta(seconds=1), 1),
    ):
        found = asked_of(venue, keg, at)
        assert_asked_as_listed(found, overdue_by_the_list(venue, keg, at))
        assert len(found) == asks


def test_a_full_keg_owed_by_the_hour_is_asked_about_from_that_hour_on(venue):
    """FDA Food Code, 4-602.11(C): surfaces in use with a TCS drink, every 4 hours. [read]"""
    keg = a_keg(venue)
    cycle = cleaned(venue, a_keg_plan(venue, "fda.tcs_in_use"), keg)
    filled(venue, keg)
    for late, asks in ((timedelta(seconds=-1), 0), (timedelta(0), 1), (timedelta(seconds=1), 1)):
        at = cycle.ended_at + timedelta(hours=4) + late
        found = asked_of(venue, keg, at)
        assert_asked_as_listed(found, overdue_by_the_list(venue, keg, at))
        assert len(found) == asks
        assert all("4-602.11(C)" in finding.source for finding in found)


def test_a_full_keg_cleaned_after_each_use_waits_until_it_is_empty(venue):
    keg = a_keg(venue)
    cleaned(venue, a_plan(venue, "keg"), keg)
    filled(venue, keg)
    for days in (0, 1, 90, 366):
        at = timezone.now() + timedelta(days=days)
        assert asked_of(venue, keg, at) == []
        assert overdue_by_the_list(venue, keg, at) == []


def test_a_plan_for_another_kind_of_drink_asks_nothing(venue, tap):
    a_plan(venue)
    a_clean(venue, tap.line)
    tapping = tapped(venue, tap)
    assert len(asked(venue, tapping, timezone.now())) == 1
    cleaning.say_drink_carried(piece=tap.line, drink_kind="beer", by=a_recorder(venue))
    assert asked(venue, tapping, timezone.now()) == []


def test_what_is_overdue_costs_no_query(client, venue, tap):
    in_region(venue, "us_ohio")
    a_plan(venue)
    a_clean(venue, tap.line)
    tapping = tapped(venue, tap)
    client.force_login(a_person(venue))
    assert queries_of(client, reverse("pour-check", args=[tapping.fill.keg.label_code])) == 8
