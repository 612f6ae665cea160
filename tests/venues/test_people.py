"""Who works here in which role: given, changed, ended, and never deleted."""

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.test import Client

from kegsafe.ledger.queries import history
from kegsafe.ledger.services import last_sequence
from kegsafe.venues import services
from kegsafe.venues.models import Membership, Role
from tests.builders import PASSWORD, a_person, a_recorder, a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def owner(client, venue):
    client.force_login(venue.memberships.get().user)
    return client


def _typed(**more):
    return {"username": "jonas", "full_name": "", "role": "staff", "password": PASSWORD, **more}


def _browser_of(person):
    browser = Client()
    browser.force_login(person)
    return browser


def _errors(answer):
    return {name: " ".join(found) for name, found in answer.context["form"].errors.items()}


def test_somebody_new_gets_an_account_and_a_role_in_the_ledger(owner):
    assert owner.post("/venue/people/add/", _typed()).status_code == 302
    membership = Membership.objects.get(user__username="jonas")
    assert membership.role == Role.STAFF
    assert [event.action for event in history(membership)] == ["given a role"]
    answer = Client().post("/venue/sign-in/", {"username": "jonas", "password": PASSWORD})
    assert answer.status_code == 302


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"username": "PERSON"}, "username", "is taken"),
        ({"username": "two words"}, "username", "valid username"),
        ({"password": "1234567890"}, "password", "entirely numeric"),
        ({"password": ""}, "password", "needs a first password"),
        ({"role": "king"}, "role", "not on the list"),
    ],
)
def test_a_mistake_is_told_at_its_field(owner, venue, typed, field, said):
    a_person(venue, name="person")
    assert said in _errors(owner.post("/venue/people/add/", _typed(**typed)))[field]
    assert not User.objects.filter(username="jonas").exists()


def test_a_colleague_of_another_venue_of_mine_keeps_the_account(owner, venue):
    mine = venue.memberships.get().user
    a_person(a_venue(name="The Tin Wren", owner=mine), name="petra")
    typed = _typed(username="petra", password="", role="manager")
    assert owner.post("/venue/people/add/", typed).status_code == 302
    assert set(
        Membership.objects.filter(user__username="petra").values_list("role", flat=True)
    ) == {
        "staff",
        "manager",
    }


def test_a_person_of_a_stranger_is_not_taken_without_a_password(owner):
    a_person(a_venue(name="Elsewhere"), name="petra")
    answer = owner.post("/venue/people/add/", _typed(username="petra", password=""))
    assert "needs a first password" in _errors(answer)["password"]


def test_a_person_has_one_role_here(owner, venue):
    mine = venue.memberships.get().user
    answer = owner.post("/venue/people/add/", _typed(username=mine.username, password=""))
    assert "already has a role here" in _errors(answer)["__all__"]


def test_a_changed_role_keeps_the_first_and_the_reason(owner, venue):
    membership = a_person(venue).memberships.get()
    url = f"/venue/people/{membership.pk}/role/"
    typed = {"role": "manager", "reason": "Took over", "seen": last_sequence(membership)}
    assert owner.post(url, typed).status_code == 302
    (change,) = history(membership)[0].changes
    assert (change.first, change.new) == ("staff", "manager")


def test_somebody_shut_out_sees_nothing_more_and_may_be_let_in_again(owner, venue):
    person = a_person(venue)
    membership = person.memberships.get()
    url = f"/venue/people/{membership.pk}/access/"
    assert owner.post(url, {"reason": "Left the bar"}).status_code == 302
    inside = _browser_of(person)
    assert "You have no role at a venue" in inside.get("/equipment/").content.decode()
    assert inside.get("/equipment/").status_code == 403
    owner.post(url, {"reason": "Came back"})
    assert inside.get("/equipment/").status_code == 200
    actions = [event.action for event in history(membership)]
    assert actions == ["let in again", "shut out", "given a role"]


def test_a_venue_keeps_an_owner(owner, venue):
    membership = venue.memberships.get()
    by = a_recorder(venue)
    with pytest.raises(ValidationError, match="at least one owner"):
        services.change_role(membership=membership, role=Role.STAFF, reason="Tired", by=by)
    answer = owner.post(f"/venue/people/{membership.pk}/access/", {"reason": "Tired"})
    assert "at least one owner" in _errors(answer)["__all__"]
    a_person(venue, Role.OWNER)
    assert services.deactivate(membership=membership, reason="Sold", by=by)


def test_a_new_password_is_set_and_the_ledger_says_that_and_not_which(owner, venue):
    person = a_person(venue)
    membership = person.memberships.get()
    url = f"/venue/people/{membership.pk}/password/"
    assert owner.post(url, {"password": "walnut-ferry-19"}).status_code == 302
    person.refresh_from_db()
    assert person.check_password("walnut-ferry-19")
    entry = history(membership)[0]
    assert entry.action == "given a new password"
    assert "walnut" not in str(entry)


def test_the_password_of_somebody_who_works_elsewhere_too_is_not_set(owner, venue):
    """Whoever sets it could act in that person's name at a venue that is not theirs."""
    person = a_person(venue)
    elsewhere = a_venue(name="Elsewhere")
    services.give_role(venue=elsewhere, user=person, role=Role.OWNER, by=a_recorder(elsewhere))
    membership = person.memberships.get(venue=venue)
    answer = owner.post(f"/venue/people/{membership.pk}/password/", {"password": "walnut-ferry-19"})
    assert "a venue that is not yours" in _errors(answer)["__all__"]
    person.refresh_from_db()
    assert person.check_password(PASSWORD)


def test_a_manager_sees_the_people_and_changes_none(venue, client):
    client.force_login(a_person(venue, "manager"))
    membership = venue.memberships.filter(role="owner").get()
    assert client.get("/venue/people/").status_code == 200
    assert "Change the role" not in client.get(f"/venue/people/{membership.pk}/").content.decode()
    url = f"/venue/people/{membership.pk}/access/"
    assert client.post(url, {"reason": "Coup"}).status_code == 403


@pytest.mark.parametrize("path", ["", "role/", "access/", "password/"])
def test_a_person_of_another_venue_is_not_found(owner, path):
    theirs = a_venue(name="Elsewhere").memberships.get()
    url = f"/venue/people/{theirs.pk}/{path}"
    assert owner.get(url).status_code == 404
    assert owner.post(url, {"reason": "Mine"}).status_code in {403, 404}


def test_nobody_is_deleted(owner, venue):
    membership = a_person(venue).memberships.get()
    assert "never deleted" in owner.get(f"/venue/people/{membership.pk}/").content.decode()
    assert owner.delete(f"/venue/people/{membership.pk}/").status_code in {403, 405}
    assert Membership.objects.filter(pk=membership.pk).exists()
