"""A bar starts: the venue, its first owner, and a chain of records with two entries."""

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command

from kegsafe.ledger.models import Entry
from kegsafe.venues.models import Membership, Role, Venue
from tests.builders import PASSWORD, a_venue

pytestmark = pytest.mark.django_db
OPTIONS = {
    "name": "The Copper Finch",
    "owner": "mara",
    "code": "england",
    "time_zone": "Europe/London",
    "units": "metric",
}


@pytest.fixture
def password(monkeypatch):
    monkeypatch.setenv("KEGSAFE_OWNER_PASSWORD", PASSWORD)


def _nobody_answers(*_asked):
    raise EOFError


def test_a_venue_opens_with_its_owner_in_its_own_chain():
    venue = a_venue()
    owner = Membership.objects.get(venue=venue)
    assert (owner.role, owner.is_active) == (Role.OWNER, True)
    entries = Entry.objects.filter(chain=venue.chain).order_by("sequence")
    assert [entry.action for entry in entries] == ["opened", "given a role"]


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("code_key", "mars", "is no code on file"),
        ("time_zone", "Europe/Londres", "is no IANA time zone"),
        ("units", "cubits", "is not a valid choice"),
        ("name", "", "cannot be blank"),
    ],
)
def test_a_mistake_is_told_by_its_field_and_nothing_is_opened(field, value, said):
    with pytest.raises(ValidationError) as refused:
        a_venue(**{field: value})
    assert said in refused.value.message_dict[field][0]
    assert not Venue.objects.exists()


@pytest.mark.usefixtures("password")
def test_the_command_opens_a_venue_and_its_owner_may_sign_in(client, capsys):
    call_command("open_venue", **OPTIONS)
    assert "The Copper Finch is open. mara may sign in." in capsys.readouterr().out
    answer = client.post("/venue/sign-in/", {"username": "mara", "password": PASSWORD})
    assert answer.status_code == 302


@pytest.mark.usefixtures("password")
def test_a_second_venue_goes_to_the_same_owner():
    call_command("open_venue", **OPTIONS)
    call_command("open_venue", **{**OPTIONS, "name": "The Tin Wren"})
    assert User.objects.count() == 1
    assert Membership.objects.filter(user__username="mara").count() == 2


@pytest.mark.usefixtures("password")
def test_the_command_asks_for_what_is_not_given(monkeypatch):
    answers = iter(["The Tin Wren", "eu", "Europe/Berlin", "metric", "petra"])
    monkeypatch.setattr("builtins.input", lambda _question: next(answers))
    call_command("open_venue")
    venue = Venue.objects.get()
    assert (venue.name, venue.code_key, venue.memberships.get().user.username) == (
        "The Tin Wren",
        "eu",
        "petra",
    )


def test_the_command_says_what_is_missing_where_nobody_answers(monkeypatch):
    monkeypatch.setattr("builtins.input", _nobody_answers)
    with pytest.raises(CommandError, match="Give it as an option"):
        call_command("open_venue")
    monkeypatch.delenv("KEGSAFE_OWNER_PASSWORD", raising=False)
    asking = "kegsafe.venues.management.commands.open_venue.getpass"
    monkeypatch.setattr(asking, _nobody_answers)
    with pytest.raises(CommandError, match="Set KEGSAFE_OWNER_PASSWORD"):
        call_command("open_venue", **OPTIONS)


@pytest.mark.usefixtures("password")
def test_a_venue_that_cannot_open_leaves_no_owner_behind():
    with pytest.raises(CommandError, match='code key: "mars" is no code on file'):
        call_command("open_venue", **{**OPTIONS, "code": "mars"})
    assert not User.objects.exists()


def test_a_weak_password_is_refused(monkeypatch):
    monkeypatch.setenv("KEGSAFE_OWNER_PASSWORD", "password")
    with pytest.raises(CommandError, match="too common"):
        call_command("open_venue", **OPTIONS)
