"""A line whose clean is overdue asks for the manager, by the rule of the list of what is due."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.cleaning import services as cleaning
from kegsafe.cleaning.queries import due_of
from kegsafe.pour.queries import keg_view
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.rules.findings import Severity
from kegsafe.rules.pour_check import pour_check
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
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


def tapped(venue, tap):
    """A drink put on the tap now."""
    spirit = an_ingredient(venue, category="spirit", total_so2_mg_per_l=Decimal(0))
    batch = a_batch(venue, a_lot(venue, ingredient=spirit), recipe=a_recipe(venue, spirit))
    fill = a_fill(venue, batch=batch, rest_hours=0, place=a_place(venue))
    return a_tapping(venue, fill=fill, tap=tap)


def cleaned(venue, plan, line):
    """One whole cycle of a plan, closed now."""
    cleaner = Cleaner(venue)
    (cycle,) = cleaner.starts(plan, line)
    cleaner.does(cycle, *(step.position for step in cycle.plan.as_rules().steps))
    return cleaning.close_cycle(cycle=cycle, by=cleaner.by)


def asked(venue, tapping, at):
    view = keg_view(venue, tapping.fill.keg.label_code, at)
    findings = pour_check(view.facts, at).findings
    return [each for each in findings if each.rule == "cleaning.overdue"]


def overdue_by_the_list(venue, line, at):
    found = due_of(venue, at, only={f"line-{line.pk}"})
    return [piece for piece in found if piece.due.status is DueStatus.OVERDUE]


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
    """`due_of` needs nine queries for it; the pour check reads four columns."""
    cleaned(venue, a_plan(venue), tap.line)
    tapping = tapped(venue, tap)
    at = timezone.now() + timedelta(days=days)
    found = asked(venue, tapping, at)
    listed = overdue_by_the_list(venue, tap.line, at)
    assert len(found) == len(listed)
    for finding, piece in zip(found, listed, strict=True):
        assert finding.statement.endswith(piece.due.reason)


def test_the_day_after_the_interval_is_the_first_that_asks(venue, tap):
    """The plan's own interval, as it stands in its document."""
    plan = a_plan(venue)
    days = min(each.every for each in plan.as_rules().intervals if each.unit == "day")
    cleaned_at = venue.local(cleaned(venue, plan, tap.line).ended_at)
    tapping = tapped(venue, tap)
    last = cleaned_at.replace(hour=23, minute=59, second=58) + timedelta(days=days)
    assert asked(venue, tapping, last) == []
    assert len(asked(venue, tapping, last + timedelta(seconds=2))) == 1


def test_a_plan_for_another_kind_of_drink_asks_nothing(venue, tap):
    a_plan(venue)
    a_clean(venue, tap.line)
    tapping = tapped(venue, tap)
    assert len(asked(venue, tapping, timezone.now())) == 1
    cleaning.say_drink_carried(piece=tap.line, drink_kind="beer", by=a_recorder(venue))
    assert asked(venue, tapping, timezone.now()) == []


def test_what_is_overdue_costs_no_query(client, venue, tap):
    a_plan(venue)
    a_clean(venue, tap.line)
    tapping = tapped(venue, tap)
    client.force_login(a_person(venue))
    assert queries_of(client, reverse("pour-check", args=[tapping.fill.keg.label_code])) == 8
