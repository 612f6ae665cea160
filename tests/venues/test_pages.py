"""Signing in, choosing a venue, and what frames each page."""

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from kegsafe.ledger.queries import history
from kegsafe.ledger.verification import verify_records
from kegsafe.venues.models import Role
from kegsafe.venues.services import amend_venue
from tests.builders import PASSWORD, a_person, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def owner(client, venue):
    client.force_login(venue.memberships.get().user)
    return client


def _settings_as_shown(client):
    form = client.get("/venue/").context["form"]
    return {name: form[name].value() or "" for name in form.fields if name != "reason"}


def test_a_page_asks_who_you_are_and_goes_on_to_it(client, venue):
    person = a_person(venue)
    answer = client.get("/equipment/")
    assert answer.url == "/venue/sign-in/?next=/equipment/"
    typed = {"username": person.username, "password": PASSWORD, "next": "/equipment/"}
    assert client.post("/venue/sign-in/", typed).url == "/equipment/"


def test_signing_in_does_not_lead_to_another_site(client, venue):
    person = a_person(venue)
    typed = {"username": person.username, "password": PASSWORD, "next": "https://evil.example/"}
    assert client.post("/venue/sign-in/", typed).url == reverse("home")


def test_signing_out_takes_a_press_and_not_a_link(owner):
    assert owner.get("/venue/sign-out/").status_code == 405
    assert owner.post("/venue/sign-out/").url == "/venue/sign-in/"
    assert owner.get("/equipment/").status_code == 302


def test_a_changed_password_is_told_to_the_ledger_and_this_device_stays_in(client, venue):
    person = a_person(venue)
    client.force_login(person)
    new = "walnut-ferry-19"
    typed = {"old_password": PASSWORD, "new_password1": new, "new_password2": new}
    assert client.post("/venue/password/", typed).url == "/venue/password/changed/"
    assert client.get("/equipment/").status_code == 200
    entry = history(person.memberships.get())[0]
    assert (entry.action, entry.person) == ("changed their password", person.username)


def test_a_wrong_old_password_changes_nothing(client, venue):
    person = a_person(venue)
    client.force_login(person)
    typed = {"old_password": "wrong", "new_password1": "walnut-ferry-19"}
    assert client.post("/venue/password/", typed).status_code == 200
    assert User.objects.get(pk=person.pk).check_password(PASSWORD)


def test_somebody_without_a_venue_is_told_whom_to_ask(client):
    client.force_login(User.objects.create_user("lost", password=PASSWORD))
    answer = client.get("/equipment/")
    assert answer.status_code == 403
    assert "Ask the owner of the venue" in answer.content.decode()


def test_who_works_at_two_venues_chooses_one(client, venue):
    person = venue.memberships.get().user
    second = a_venue(name="The Tin Wren", owner=person)
    client.force_login(person)
    assert "Change venue" in client.get("/equipment/").content.decode()
    assert client.get("/equipment/").context["venue"] == venue
    client.post("/venue/switch/", {"venue": second.pk})
    assert client.get("/equipment/").context["venue"] == second


@pytest.mark.parametrize("typed", ["", "x", "0", "9" * 30])
def test_a_venue_where_one_has_no_role_cannot_be_chosen(owner, typed):
    assert owner.post("/venue/switch/", {"venue": typed}).status_code == 404
    theirs = a_venue(name="Elsewhere")
    assert owner.post("/venue/switch/", {"venue": theirs.pk}).status_code == 404


def test_the_navigation_marks_where_one_is_and_needs_no_query(owner, venue, client):
    navigation = owner.get("/equipment/lines/").context["navigation"]
    assert [entry["label"] for entry in navigation if entry["active"]] == ["Equipment"]
    # Session, person with memberships and venues, head of the chain, entries, whom they name.
    assert queries_of(owner, "/ledger/") == 5


def test_an_owner_amends_the_settings_with_a_reason(owner, venue):
    typed = {**_settings_as_shown(owner), "code_key": "england", "units": "metric"}
    answer = owner.post("/venue/", {**typed, "reason": ""})
    assert "Say why" in str(answer.context["form"].errors["reason"])
    assert owner.post("/venue/", {**typed, "reason": "Moved to York"}).status_code == 302
    venue.refresh_from_db()
    assert (venue.code_key, venue.units) == ("england", "metric")
    assert {change.field for change in history(venue)[0].changes} == {"food code", "units"}


def test_an_owner_chooses_the_region_and_the_records_before_it_still_agree(owner, venue):
    assert list(verify_records()) == []
    typed = {**_settings_as_shown(owner), "region": "us_ohio", "reason": "Ohio it is"}
    owner.post("/venue/", typed)
    venue.refresh_from_db()
    assert venue.region_name == "Ohio, US"
    assert list(verify_records()) == []
    elsewhere = {**typed, "region": "us_atlantis", "seen": _settings_as_shown(owner)["seen"]}
    answer = owner.post("/venue/", elsewhere)
    assert answer.context["form"].errors["region"]


def test_settings_that_somebody_else_changed_meanwhile_are_refused(owner, venue):
    typed = _settings_as_shown(owner)
    amend_venue(venue=venue, changes={"name": "The Tin Wren"}, reason="Sold", by=a_recorder(venue))
    answer = owner.post("/venue/", {**typed, "name": "The Lead Lark", "reason": "Fancy"})
    assert "Somebody else changed this record" in answer.content.decode()
    venue.refresh_from_db()
    assert venue.name == "The Tin Wren"


@pytest.mark.parametrize(("field", "value"), [("time_zone", "Mars/Base"), ("code_key", "mars")])
def test_a_zone_or_code_that_is_none_is_refused(owner, field, value):
    typed = {**_settings_as_shown(owner), field: value, "reason": "Fancy"}
    assert field in owner.post("/venue/", typed).context["form"].errors


@pytest.mark.parametrize("role", [Role.STAFF, Role.MANAGER, Role.INSPECTOR])
def test_others_see_the_settings_and_change_none(client, venue, role):
    client.force_login(a_person(venue, role))
    page = client.get("/venue/").content.decode()
    assert "America/New_York" in page
    assert "Change the settings" not in page
    assert client.post("/venue/", {"name": "Mine"}).status_code == 403


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "PROPFIND"])
def test_a_page_takes_no_other_method_than_opening_and_sending(owner, method):
    answer = owner.generic(method, "/stock/suppliers/add/")
    assert answer.status_code == 405
    assert answer["Allow"] == "GET, HEAD, POST"
