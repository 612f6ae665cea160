"""What is due: worked out from plans and records, the same number of queries whatever there is."""

from datetime import timedelta

import pytest
from django.utils import timezone
from icalendar import Calendar

from kegsafe.cleaning import services
from kegsafe.cleaning.queries import due_of
from kegsafe.equipment.services import begin_use
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.venues.services import amend_venue
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


def test_a_line_never_cleaned_is_overdue(venue):
    a_plan(venue)
    line = a_line(venue, name="3")
    piece = _due(venue)[f"line-{line.pk}"]
    assert piece.due.status is DueStatus.OVERDUE
    assert piece.due.reason == "No clean of Line 3 that counts is on record."


def test_a_cycle_that_counts_moves_the_day_and_a_failed_one_does_not(venue, jonas):
    plan, line = a_plan(venue), a_line(venue)
    (cycle,) = jonas.starts(plan, line)
    jonas.does_all(cycle)
    key = f"line-{line.pk}"
    assert _due(venue)[key].due.status is DueStatus.THIS_WEEK
    assert _due(venue, days=2)[key].due.status is not DueStatus.OVERDUE
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


def test_the_law_of_the_region_stands_beside_the_plan_with_its_clause(manager, venue, jonas):
    """Ohio Administrative Code 4301:1-1-28(A): beer 14 days, mixed beverages 30 days. [read]"""
    amend_venue(venue=venue, changes={"region": "us_ohio"}, reason="Ohio", by=jonas.by)
    plan, line = a_plan(venue, "line.plain"), a_line(venue)
    a_plan(venue, "line.acid")
    (cycle,) = jonas.starts(plan, line)
    jonas.does_all(cycle)
    services.say_drink_carried(piece=line, drink_kind="plain", by=jonas.by)
    reasons = {piece.plan.starter_key: piece.due.reasons for piece in due_of(venue, timezone.now())}
    assert [reason.rule for reason in reasons["line.plain"]][1:] == [
        "line.plain",
        "ohio.mixed_beverage_line",
    ]
    assert reasons["line.plain"][-1].source == "Ohio Administrative Code, 4301:1-1-28(A)(2)"
    assert not any("ohio" in reason.rule for reason in reasons["line.acid"])
    page = manager.get("/cleaning/").content.decode()
    assert "4301:1-1-28(A)(2)" in page


def test_a_clean_noted_without_a_plan_is_named_and_does_not_count(venue, jonas):
    a_plan(venue)
    line = a_line(venue)
    services.record_clean(
        venue=venue,
        line=line,
        cleaned_at=timezone.now(),
        method="Flushed",
        sanitised=True,
        is_allergen_clean=False,
        verification="visual",
        by=jonas.by,
    )
    (piece,) = due_of(venue, timezone.now())
    assert piece.due.status is DueStatus.OVERDUE
    assert "followed no plan" in piece.due.reason
    (cycle,) = jonas.starts(piece.plan, line, at=timezone.now())
    services.give_up_cycle(cycle=cycle, reason="No water", by=jonas.by)
    assert "followed no plan" in " ".join(
        reason.statement for reason in due_of(venue, timezone.now())[0].due.reasons
    )


def test_a_keg_in_use_waits_and_is_not_called_unknown(manager, venue, jonas):
    plan, keg = a_plan(venue, "keg"), a_keg(venue)
    (cycle,) = jonas.starts(plan, keg)
    jonas.does_all(cycle)
    (piece,) = due_of(venue, timezone.now())
    assert piece.due.status is DueStatus.WAITS
    page = manager.get("/cleaning/").content.decode()
    assert "Waits for a use or another drink: 1" in page


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
    assert few <= 18


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
