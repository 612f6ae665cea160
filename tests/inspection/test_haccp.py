"""The HACCP summary: a starter text that says so, then the venue's own with its history."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from kegsafe.inspection import services
from kegsafe.inspection.haccp import summary_of
from kegsafe.inspection.models import HaccpStep
from kegsafe.ledger.queries import history
from kegsafe.ledger.services import StaleRecord, last_sequence
from kegsafe.rules.haccp import TEXTS, principles, starter_steps
from kegsafe.venues.services import set_local_limit
from tests.builders import a_person, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

# The steps the work of this bar goes through, from the door to the glass.
STEPS = ["receive", "store", "prepare", "fill", "carbonate", "hold", "dispense", "clean"]


@pytest.fixture
def venue():
    return a_venue()


def test_there_is_a_starter_text_for_each_step_of_the_work():
    assert list(starter_steps()) == STEPS


def test_the_seven_principles_are_each_asked_of_a_step():
    """Codex Alimentarius CXC 1-1969 (2020), chapter two: seven principles. [second-hand]"""
    assert [each.number for each in principles()] == [1, 2, 3, 4, 5, 6, 7]
    assert {each.asked_as for each in principles()} <= {*TEXTS, "is_critical"}


def test_what_nobody_adopted_is_nobodys_plan(client, venue):
    client.force_login(a_person(venue, "inspector"))
    page = client.get(reverse("haccp")).content.decode()
    assert "It is nobody's plan until the venue has made it its own" in page.replace("&#x27;", "'")
    assert "Make it the venue" not in page


def test_a_manager_makes_it_the_venues_own_once(client, venue):
    client.force_login(a_person(venue, "manager"))
    client.post(reverse("haccp"))
    assert list(HaccpStep.objects.values_list("step", flat=True)) == STEPS
    with pytest.raises(ValidationError, match="has a summary already"):
        services.adopt_summary(venue=venue, by=a_recorder(venue))


def test_a_step_is_amended_with_its_history(client, venue):
    step, *_ = services.adopt_summary(venue=venue, by=a_recorder(venue))
    client.force_login(a_person(venue, "manager"))
    sent = {name: getattr(step, name) for name in TEXTS}
    sent |= {"hazards": "Ice", "reason": "We buy ice", "seen": last_sequence(step)}
    answer = client.post(reverse("haccp-step", args=[step.pk]), sent | {"is_critical": "on"})
    assert answer.status_code == 302
    newest, first = history(step)
    assert (newest.reason, newest.changes[0].new, first.action) == (
        "We buy ice",
        "Ice",
        "HACCP step adopted",
    )


def test_somebody_elses_change_in_between_is_not_overwritten(venue):
    step, *_ = services.adopt_summary(venue=venue, by=a_recorder(venue))
    seen, by = last_sequence(step), a_recorder(venue)
    services.amend_step(
        step=step, changes={"hazards": "Ice"}, reason="ice", seen_sequence=seen, by=by
    )
    with pytest.raises(StaleRecord):
        services.amend_step(
            step=step, changes={"hazards": "Fruit"}, reason="fruit", seen_sequence=seen, by=by
        )


def test_the_limits_in_force_are_the_venues_own(venue):
    """The model code's chill limit is 41 degF: FDA Food Code 3-501.16(A)(2). [second-hand]"""

    def stored():
        steps = {step.starter.step: step for step in summary_of(venue, date(2026, 6, 1))}
        return steps["store"].in_force[0]

    assert "5 °C (41 °F)" in stored()
    set_local_limit(
        venue=venue,
        rule="cold_holding.maximum",
        value=Decimal(3),
        valid_from=date(2026, 1, 1),
        by=a_recorder(venue),
    )
    assert "3 °C (37.4 °F)" in stored()


def test_the_page_makes_few_queries(client, venue):
    services.adopt_summary(venue=venue, by=a_recorder(venue))
    client.force_login(a_person(venue, "manager"))
    assert queries_of(client, reverse("haccp")) <= 6
