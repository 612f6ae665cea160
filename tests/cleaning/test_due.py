"""What is due: worked out from plans and records, the same number of queries whatever there is."""

from datetime import timedelta

import pytest
from django.utils import timezone
from icalendar import Calendar

from kegsafe.cleaning import services
from kegsafe.cleaning.queries import due_of
from kegsafe.equipment.services import begin_use
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.rules.findings import Severity
from tests.builders import a_keg, a_line, a_person, a_recorder, a_tap, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def jonas(venue):
    return Cleaner(venue)


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


def _due(venue, **later):
    return {piece.key: piece for piece in due_of(venue, timezone.now() + timedelta(**later))}


def test_a_line_never_cleaned_is_overdue_and_the_pour_check_asks(venue):
    a_plan(venue)
    line = a_line(venue, name="3")
    piece = _due(venue)[f"line-{line.pk}"]
    assert piece.due.status is DueStatus.OVERDUE
    (finding,) = piece.findings()
    assert finding.severity is Severity.ASK
    assert "The clean of Line 3 is overdue" in finding.statement


def test_a_cycle_that_counts_moves_the_day_and_a_failed_one_does_not(venue, jonas):
    plan, line = a_plan(venue), a_line(venue)
    (cycle,) = jonas.starts(plan, line)
    jonas.does_all(cycle)
    key = f"line-{line.pk}"
    assert _due(venue)[key].due.status is DueStatus.THIS_WEEK
    assert _due(venue, days=2)[key].findings() == ()
    assert _due(venue, days=8, hours=1)[key].due.status is DueStatus.OVERDUE
    (again,) = jonas.starts(plan, line, at=timezone.now() - timedelta(hours=3))
    services.close_cycle(cycle=again, by=jonas.by)
    assert _due(venue)[key].due.reasons[0].rule == "cleaning.last_incomplete"


def test_an_allergen_plan_waits_for_a_change_of_drink(venue):
    a_plan(venue, "line.allergen")
    line = a_line(venue)
    assert _due(venue) == {}
    begin_use(
        line=line,
        drink="Paloma",
        allergens=[],
        carried_over=["almond"],
        began_at=timezone.now() - timedelta(days=2),
        by=a_recorder(venue),
    )
    (piece,) = _due(venue).values()
    assert "almond" in " ".join(reason.statement for reason in piece.due.reasons)


def test_the_drink_that_a_line_carries_chooses_its_plan(venue):
    by = a_recorder(venue)
    plain, fresh = a_plan(venue, "line.plain"), a_plan(venue, "line.fresh")
    line = a_line(venue)
    assert {piece.plan for piece in due_of(venue, timezone.now())} == {plain, fresh}
    services.say_drink_carried(piece=line, drink_kind="fresh", by=by)
    assert [piece.plan for piece in due_of(venue, timezone.now())] == [fresh]


def test_the_list_says_why_and_is_narrowed_by_kind(manager, venue):
    a_plan(venue), a_plan(venue, "keg")
    a_line(venue, name="3"), a_keg(venue, name="K7")
    page = manager.get("/cleaning/", {"kind": "keg"}).content.decode()
    assert "No clean of Keg K7 that counts is on record" in page
    assert ">Line 3</a>" not in page


def test_two_hundred_pieces_take_as_many_queries_as_three(manager, venue, jonas):
    for key in ("line.sweet", "keg", "tap.sweet", "drip_tray"):
        a_plan(venue, key)
    a_tap(venue)
    few = queries_of(manager, "/cleaning/")
    for number in range(40):
        a_keg(venue), a_tap(venue)
        services.add_item(venue=venue, name=f"Tray {number}", kind="drip_tray", by=jonas.by)
    assert queries_of(manager, "/cleaning/") == few
    assert few <= 16


def test_a_calendar_program_reads_the_feed_without_loss(client, venue):
    """RFC 5545, read back by the icalendar library."""
    a_plan(venue)
    for number in range(3):
        a_line(venue, name=f"Ä{number}; the, one\\")
    _, token = services.make_feed_address(venue=venue, name="Ana", by=a_recorder(venue))
    answer = client.get(f"/cleaning/calendar/{token}.ics")
    assert answer["Content-Type"].startswith("text/calendar")
    calendar = Calendar.from_ical(answer.content)
    due = due_of(venue, timezone.now())
    read = {
        (str(entry["summary"]), entry.decoded("dtstart"), str(entry["description"]))
        for entry in calendar.walk("VEVENT")
    }
    today = venue.local(timezone.now()).date()
    assert read == {
        (
            f"Overdue: {piece.name}: {piece.plan.name}",
            today,
            "\n".join(reason.statement for reason in piece.due.reasons),
        )
        for piece in due
    }
    assert len({str(entry["uid"]) for entry in calendar.walk("VEVENT")}) == len(due) == 3


def test_a_revoked_address_is_not_there(client, venue):
    by = a_recorder(venue)
    address, token = services.make_feed_address(venue=venue, name="Ana", by=by)
    assert token not in address.token_hash
    services.revoke_feed_address(address=address, by=by)
    assert client.get(f"/cleaning/calendar/{token}.ics").status_code == 404
    assert client.get("/cleaning/calendar/guessed.ics").status_code == 404


def test_the_secret_of_an_address_is_shown_once(manager):
    made = manager.post("/cleaning/calendar/", {"name": "Ana"}).content.decode()
    assert "/cleaning/calendar/" in made
    assert ".ics" in made
    assert ".ics" not in manager.get("/cleaning/calendar/").content.decode()
