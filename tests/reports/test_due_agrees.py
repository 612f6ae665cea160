"""What is due is said alike by page, command, calendar, audit, pack, and what other rooms ask for.

Item by item: the same things, the same days, the same reasons, whoever is asked.
"""

import json
from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from kegsafe.inspection.blocks import Rows
from kegsafe.inspection.scope import Scope
from kegsafe.inspection.sections.pressure import SECTION as PRESSURE
from kegsafe.pressure import services
from kegsafe.pressure.audit import audit_of
from kegsafe.pressure.queries import dues_in, everything_due, register
from kegsafe.rules.pressure.due import DueState
from tests.builders import a_keg, a_person, a_recorder, a_venue
from tests.pressure.point_results import results

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def venue():
    """A bar with something in each state a date can be in."""
    bar = a_venue()
    by = a_recorder(bar)
    today = timezone.localdate(timezone=bar.zone)

    def add(kind, name, **values):
        return services.add_item(venue=bar, kind=kind, name=name, by=by, **values)

    add("cylinder", "C1", cylinder_rule="us.3al", stamped_on=date(today.year - 6, 1, 1))
    add("cylinder", "C2", cylinder_rule="us.3al", stamped_on=date(today.year - 1, 1, 1))
    add("cylinder", "C3, by the door; left")
    add("hose", "H1", marked_on=date(today.year - 7, 3, 1))
    add("hose", "H2", replace_by=today)
    add("monitor", "M1")
    valve = add("relief_valve", "V1", marked_on=date(today.year - 1, 3, 1))
    look = results("relief_valve", "yearly")
    services.record_check(
        item=valve, check="yearly", results=look, competent_person="I. Vale", report="7", by=by
    )
    gone = add("hose", "H3")
    services.set_item_service(gone, service="scrapped", reason="Cracked", by=by)
    out = add("hose", "H4")
    services.set_item_service(out, service="out_of_service", reason="Kinked", by=by)
    keg = a_keg(bar, name="K1")
    services.set_interval(keg=keg, check="examination", months=24, basis="owner", by=by)
    return bar


@pytest.fixture
def today(venue):
    return timezone.localdate(timezone=venue.zone)


def _answers(rows):
    """Return what JSON rows say, answer by answer."""
    return {
        (row["item"], due["check"]): (due["state"], due["due_on"], due["because"], due["source"])
        for row in rows
        for due in row["due"]
    }


def _of_page(client, venue):
    client.force_login(a_person(venue, "inspector"))
    return _answers(row.as_json() for row in client.get(reverse("pressure")).context["page"])


def _of_command(today):
    printed = StringIO()
    with pytest.raises(SystemExit):
        call_command("due", "--json", "--on", today.isoformat(), stdout=printed)
    return _answers(json.loads(printed.getvalue()))


def _of_rooms(venue, today):
    return {
        (f"{each.owner[0]}:{each.owner[1]}", each.due.check): (
            each.due.state.value,
            each.due.due_on.isoformat() if each.due.due_on else None,
            each.due.because,
            each.due.source,
        )
        for each in everything_due(venue, today, set(DueState))
    }


def _events(client, venue):
    """Return each event of the calendar: its key, its day and its summary, unescaped."""
    client.force_login(a_person(venue, "inspector"))
    text = client.get(reverse("due-calendar")).content.decode().replace("\r\n ", "")
    events = {}
    for block in text.split("BEGIN:VEVENT\r\n")[1:]:
        lines = dict(line.split(":", 1) for line in block.split("\r\n") if ":" in line)
        plain = {
            name: value.replace("\\n", "\n").replace("\\,", ",").replace("\\;", ";")
            for name, value in lines.items()
        }
        events[plain["UID"].split("@")[0]] = plain
    return events


def test_there_is_something_in_every_state(venue, today):
    states = {each.due.state for each in everything_due(venue, today, set(DueState))}
    assert states >= {
        DueState.OVERDUE,
        DueState.NOT_KNOWN,
        DueState.LATER,
        DueState.EACH_FILL,
    }


def test_page_command_audit_and_rooms_say_the_same_of_each_thing(client, venue, today):
    of_page = _of_page(client, venue)
    of_audit = _answers(row.as_json() for row in audit_of(venue, today).rows)
    assert of_page == _of_command(today)
    assert of_page == of_audit
    assert of_page == _of_rooms(venue, today)
    assert len(of_page) > 20


def test_the_calendar_has_each_day_the_page_has_and_names_each_date_that_is_not_known(
    client, venue, today
):
    answers, events = _of_page(client, venue), _events(client, venue)
    dated = {
        f"{item.replace(':', '-')}-{check}": day.replace("-", "")
        for (item, check), (_, day, _, _) in answers.items()
        if day
    }
    days = {key: event["DTSTART;VALUE=DATE"] for key, event in events.items()}
    assert days == {**dated, "not-known": today.strftime("%Y%m%d")}
    unknown = [
        f"{each.thing}: {each.due.label}"
        for each in everything_due(venue, today)
        if each.due.due_on is None
    ]
    assert events["not-known"]["DESCRIPTION"].split("\n") == unknown
    for (item, check), (_, day, because, source) in answers.items():
        if day:
            description = events[f"{item.replace(':', '-')}-{check}"]["DESCRIPTION"]
            assert description.startswith(f"{because} {source}")


def test_the_audit_lists_what_is_due_and_nothing_else(venue, today):
    of_audit = [
        (row.owner, asking.due) for asking in audit_of(venue, today).asking for row in asking.rows
    ]
    assert sorted(of_audit, key=str) == sorted(
        ((each.owner, each.due) for each in everything_due(venue, today)), key=str
    )


def test_the_pack_lists_what_is_due_and_nothing_else(venue, today):
    made_at = timezone.now()
    scope = Scope(venue, today, today, made_at, "mara", venue.chain)
    blocks = list(PRESSURE.blocks(scope))
    [due] = [block for block in blocks if isinstance(block, Rows) and block.name == "pressure-due"]
    listed = {(str(row.cells[0]), str(row.cells[2])): row.cells[1] for row in due.rows}
    asked = everything_due(venue, today)
    assert listed.keys() == {(each.due.label, each.due.because) for each in asked}
    for each in asked:
        assert each.row.name in str(listed[each.due.label, each.due.because])


def test_the_command_prints_what_is_due_in_the_order_of_urgency(venue, today):
    printed = StringIO()
    with pytest.raises(SystemExit):
        call_command("due", "--on", today.isoformat(), stdout=printed)
    first, *lines = printed.getvalue().splitlines()
    due = everything_due(venue, today)
    assert first == f"{venue}, {today:%Y-%m-%d}: {len(due)} due, or not known."
    assert [line.split() for line in lines[::2]] == [
        f"{each.day} {each.thing}: {each.due.label}".split() for each in due
    ]
    assert all(each.due.because in line for line, each in zip(lines[1::2], due, strict=True))


def test_what_other_rooms_get_is_frozen_and_the_most_urgent_comes_first(venue, today):
    found = everything_due(venue, today)
    assert {each.due.state for each in found} == {DueState.OVERDUE, DueState.NOT_KNOWN}
    assert [each.day for each in found if each.day != "not known"] == sorted(
        each.day for each in found if each.day != "not known"
    )
    with pytest.raises(AttributeError):
        found[0].due = None


def test_it_takes_four_queries(venue, today, django_assert_num_queries):
    with django_assert_num_queries(4):
        rows = register(venue, today)
    with django_assert_num_queries(0):
        dues_in(rows)
    with django_assert_num_queries(4):
        everything_due(venue, today)
