"""Guessing passwords ends soon, and ends for nobody else."""

import pytest
from django.contrib.auth.models import User
from django.http import HttpRequest
from django.test import Client
from django.urls import reverse

from kegsafe.frame.client_address import client_address

PASSWORD = "correct horse battery staple"
LOCKED_OUT = 429


@pytest.fixture
def guessed_at(db) -> User:
    """Somebody whose password was guessed wrongly five times from one address."""
    User.objects.create_user("alex", password=PASSWORD)
    User.objects.create_user("robin", password=PASSWORD)
    for _attempt in range(5):
        _try_to_sign_in("alex", "wrong")
    return User.objects.get(username="alex")


def _try_to_sign_in(name: str, password: str, address: str = "192.0.2.10") -> int:
    form = {"username": name, "password": password}
    return Client(REMOTE_ADDR=address).post(reverse("sign-in"), form).status_code


def test_four_wrong_passwords_lock_nobody_out(db):
    User.objects.create_user("alex", password=PASSWORD)
    assert [_try_to_sign_in("alex", "wrong") for _attempt in range(4)] == [200] * 4
    assert _try_to_sign_in("alex", PASSWORD) == 302


def test_the_fifth_wrong_password_locks_out(db):
    User.objects.create_user("alex", password=PASSWORD)
    answers = [_try_to_sign_in("alex", "wrong") for _attempt in range(5)]
    assert answers == [200, 200, 200, 200, LOCKED_OUT]


def test_a_lock_out_holds_against_the_right_password_too(guessed_at):
    assert _try_to_sign_in("alex", PASSWORD) == LOCKED_OUT


def test_a_colleague_on_the_same_network_still_signs_in(guessed_at):
    assert _try_to_sign_in("robin", PASSWORD) == 302


def test_the_same_person_still_signs_in_from_elsewhere(guessed_at):
    assert _try_to_sign_in("alex", PASSWORD, address="192.0.2.99") == 302


@pytest.mark.parametrize(
    ("trusted", "forwarded", "address"),
    [
        (False, "203.0.113.5", "192.0.2.1"),  # a header anybody can send
        (True, "203.0.113.5", "203.0.113.5"),
        (True, "198.51.100.9, 203.0.113.5", "203.0.113.5"),  # the first part is made up
        (True, "2001:db8::5", "2001:db8::5"),
        (True, "nonsense", "192.0.2.1"),
        (True, "", "192.0.2.1"),
    ],
)
def test_the_address_comes_from_the_proxy_only_when_it_is_ours(
    settings, trusted, forwarded, address
):
    settings.TRUSTED_PROXY = trusted
    request = HttpRequest()
    request.META = {"REMOTE_ADDR": "192.0.2.1", "HTTP_X_FORWARDED_FOR": forwarded}
    assert client_address(request) == address
