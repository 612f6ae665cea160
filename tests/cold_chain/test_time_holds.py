"""Holding by the clock: a recorded choice, by a written procedure, one way and once.

FDA Food Code 3-501.19(B): at 5 °C or below at the start, marked, served or discarded within four
hours; (C): six hours, never above 21 °C. [read, as adopted]
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import TimeHold
from kegsafe.ledger.models import Entry
from kegsafe.ledger.verification import verify_records
from tests.builders import a_person, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue(units="metric")


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue, "staff", name="jonas"))
    return client


def a_hold(venue, *, hours_ago=0.0, way="four_hours", degc="4", **facts):
    stated = {"what": "Cream jug", "procedure": "Procedure 3", **facts}
    return services.begin_time_hold(
        venue=venue,
        way=way,
        removed_at=timezone.now() - timedelta(hours=hours_ago),
        start_degc=Decimal(degc),
        by=a_recorder(venue),
        **stated,
    )


def end(hold, how):
    services.end_time_hold(
        hold=hold, ended_at=timezone.now(), ended_as=how, by=a_recorder(hold.venue)
    )


def test_a_jug_is_held_on_the_page_and_shows_its_mark(staff, venue):
    typed = {
        "what": "Cream jug",
        "way": "four_hours",
        "start_degc_0": "4",
        "start_degc_1": "°C",
        "procedure": "Procedure 3, in the office",
    }
    answer = staff.post(reverse("time-hold-add"), typed)
    hold = TimeHold.objects.get()
    assert answer.url == hold.get_absolute_url()
    page = staff.get(answer.url).content.decode()
    assert "served by then, or discarded" in page
    assert "3-501.19(B)" in page
    assert hold.begun_by == "jonas"
    assert "Cream jug" in staff.get(reverse("time-holds")).content.decode()
    assert list(verify_records()) == []


def test_the_mark_stands_in_the_ledger_from_the_start(venue):
    hold = a_hold(venue)
    [entry] = Entry.objects.filter(subject=hold.ledger_subject)
    marked = hold.removed_at + timedelta(hours=4)
    assert f"{marked:%Y-%m-%dT%H:%M}" in entry.detail


@pytest.mark.parametrize(("degc", "begins"), [("4.99", True), ("5", True), ("5.01", False)])
def test_what_is_too_warm_at_the_start_is_never_begun(venue, degc, begins):
    if begins:
        assert a_hold(venue, degc=degc).pk
        return
    with pytest.raises(ValidationError, match=r"5 °C \(41 °F\) is the most.*3-501\.19\(B\)"):
        a_hold(venue, degc=degc)
    assert not TimeHold.objects.exists()


def test_without_a_written_procedure_it_is_never_begun(venue):
    with pytest.raises(ValidationError):
        a_hold(venue, procedure="  ")


def test_where_the_code_has_no_such_rule_nothing_is_offered(client):
    venue = a_venue("england", "Europe/London")
    client.force_login(a_person(venue))
    page = client.get(reverse("time-holds")).content.decode()
    assert "has no rule for holding by time alone" in page
    assert "Hold something by time" not in page
    with pytest.raises(ValidationError, match="no rule for holding by time alone"):
        a_hold(venue)


def test_in_time_it_is_served_and_after_it_only_discarded(venue):
    in_time, late = a_hold(venue, hours_ago=3.9), a_hold(venue, hours_ago=4)
    end(in_time, "served")
    with pytest.raises(ValidationError, match="It is not served"):
        end(late, "served")
    end(late, "discarded")
    in_time.refresh_from_db()
    assert (in_time.ended_as, in_time.ended_by) == ("served", "mara")
    with pytest.raises(ValidationError, match="discarded already"):
        end(late, "discarded")


@pytest.mark.parametrize(("degc", "goes_on"), [("21", True), ("21.01", False)])
def test_six_hours_end_above_twenty_one_degrees(staff, venue, degc, goes_on):
    hold = a_hold(venue, way="six_hours", hours_ago=2)
    staff.post(hold.get_absolute_url(), {"reading-degc_0": degc, "reading-degc_1": "°C"})
    assert hold.readings.count() == 1
    page = staff.get(hold.get_absolute_url()).content.decode()
    assert ("discard it" in page) != goes_on


def test_its_end_is_recorded_on_the_page_and_a_wrong_one_told_at_its_field(staff, venue):
    hold = a_hold(venue, hours_ago=5)
    answer = staff.post(hold.get_absolute_url(), {"ended_as": "served", "ended_at": ""})
    assert "It is not served" in str(answer.context["end"].errors["ended_as"])
    staff.post(hold.get_absolute_url(), {"ended_as": "discarded", "ended_at": ""})
    assert "Discarded" in staff.get(hold.get_absolute_url()).content.decode()


def test_the_list_makes_the_same_queries_for_few_and_for_many(staff, venue):
    a_hold(venue)
    few = queries_of(staff, reverse("time-holds"))
    for _ in range(20):
        a_hold(venue)
    assert queries_of(staff, reverse("time-holds")) == few


def test_what_another_venue_holds_is_not_found(staff):
    theirs = a_hold(a_venue(name="Elsewhere"))
    assert staff.get(theirs.get_absolute_url()).status_code == 404
    assert staff.post(theirs.get_absolute_url(), {"ended_at": ""}).status_code == 404
