"""Changing a plan on its page: stricter at will, without the sanitise step only with a paper."""

import pytest

from kegsafe.cleaning.models import CleaningPlan
from kegsafe.rules.cleaning.sanitise_step import sanitises
from tests.builders import a_line, a_person, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan

pytestmark = pytest.mark.django_db

ALLOWED = {
    "is_without_sanitising": "on",
    "authority": "Port Amber health office",
    "reference": "letter 31/26",
    "approved_on": "2026-03-02",
    "approval_reason": "The maker warns of residue",
    "reason": "As the office allowed",
}


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


def _as_shown(client, plan):
    form = client.get(f"/cleaning/plans/{plan.pk}/change/").context["form"]
    return {field.html_name: field.value() for field in form if field.value() not in (None, False)}


def _in_force(plan):
    return CleaningPlan.objects.get(family=plan.family, replaced_on=None)


def test_the_sanitise_step_is_left_out_with_who_allowed_it_and_why(manager, venue):
    plan = a_plan(venue)
    manager.post(f"/cleaning/plans/{plan.pk}/change/", {**_as_shown(manager, plan), **ALLOWED})
    changed = _in_force(plan)
    assert not sanitises(changed.as_rules())
    page = manager.get(f"/cleaning/plans/{changed.pk}/").content.decode()
    for said in ("Port Amber health office", "letter 31/26", "The maker warns of residue"):
        assert said in page


@pytest.mark.parametrize("name", ["authority", "reference", "approved_on", "approval_reason"])
def test_without_a_part_of_the_approval_the_step_stays_and_the_field_says_so(manager, venue, name):
    plan = a_plan(venue)
    sent = {**_as_shown(manager, plan), **ALLOWED, name: ""}
    answer = manager.post(f"/cleaning/plans/{plan.pk}/change/", sent)
    assert "the sanitise step stays" in answer.context["form"].errors[name][0]
    assert _in_force(plan) == plan


def test_a_line_counts_without_sanitiser_while_the_approval_stands_and_not_after(manager, venue):
    plan, jonas, line = a_plan(venue), Cleaner(venue), a_line(venue)
    manager.post(f"/cleaning/plans/{plan.pk}/change/", {**_as_shown(manager, plan), **ALLOWED})
    (cycle,) = jonas.starts(_in_force(plan), line)
    assert jonas.does_all(cycle).result == "complete"
    allowed = _in_force(plan)
    sent = {**_as_shown(manager, allowed), "reason": "The letter has run out"}
    del sent["is_without_sanitising"]
    manager.post(f"/cleaning/plans/{allowed.pk}/change/", sent)
    assert _in_force(plan).as_rules().steps == plan.as_rules().steps
    assert _in_force(plan).as_rules().without_sanitising is None
