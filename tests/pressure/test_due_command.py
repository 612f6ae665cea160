"""`manage.py due`, and that page, command and audit say the same."""

import json
from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from kegsafe.pressure import services
from kegsafe.pressure.audit import audit_of
from tests.builders import a_person, a_venue
from tests.pressure.point_results import results

pytestmark = pytest.mark.django_db


def told(*words):
    printed = StringIO()
    with pytest.raises(SystemExit) as end:
        call_command("due", *words, stdout=printed)
    return end.value.code, printed.getvalue()


def test_it_says_what_is_due_and_why(gas):
    status, printed = told()
    assert status == 3
    assert "Regulator 1: Replacement or reconditioning" in printed
    assert "The date mark is not on record. Not known: treat as due." in printed


def test_nothing_in_the_register_is_nothing_due(venue):
    assert told()[0] == 0


@pytest.mark.parametrize(("day", "state"), [("2026-05-31", "soon"), ("2026-06-01", "overdue")])
def test_it_judges_on_another_day(an_item, day, state):
    an_item("cylinder", cylinder_rule="us.3al", stamped_on=date(2021, 6, 1))
    (row,) = json.loads(told("--json", "--on", day)[1])
    found = {each["check"]: each for each in row["due"]}["requalification"]
    assert (found["due_on"], found["state"]) == ("2026-06-01", state)


def test_a_mistyped_day_and_a_venue_nobody_knows_are_refused_in_words(venue):
    with pytest.raises(CommandError, match=r"Write one such as 2026-04-07"):
        call_command("due", "--on", "7.4.2026")
    with pytest.raises(CommandError, match="On record: The Copper Finch"):
        call_command("due", "--venue", "Nowhere")


def test_of_two_bars_one_must_be_named(venue):
    a_venue(name="The Tin Heron")
    with pytest.raises(CommandError, match="Name one venue"):
        call_command("due")
    assert told("--venue", "The Tin Heron")[0] == 0


def test_page_command_and_audit_agree(client, venue, gas, by):
    services.record_check(
        item=gas.regulator, check="look", results=results("regulator", "look"), by=by
    )
    client.force_login(a_person(venue, "owner"))
    today = timezone.localdate(timezone=venue.zone)
    of_page = [row.as_json() for row in client.get("/pressure/").context["page"]]
    of_command = json.loads(told("--json", "--on", today.isoformat())[1])
    of_audit = [row.as_json() for row in audit_of(venue, today).rows]
    assert of_page == of_command == of_audit
