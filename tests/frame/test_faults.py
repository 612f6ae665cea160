"""No answer of the server leaves a person without a sentence."""

import pytest
from django.db import OperationalError

from kegsafe.stock import services
from kegsafe.stock.models import Supplier
from tests.builders import a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    client.raise_request_exception = False
    client.force_login(a_venue().memberships.get().user)
    return client


def _sent_while(owner, monkeypatch, trouble: str):
    def refuse(**_values: object) -> None:
        raise OperationalError(trouble)

    monkeypatch.setattr(services, "add_supplier", refuse)
    return owner.post("/stock/suppliers/add/", {"name": "Grove & Peel"})


@pytest.mark.parametrize(
    "trouble",
    [
        "database is locked",
        "deadlock detected\nDETAIL:  Process 7 waits for ShareLock",
        "canceling statement due to lock timeout",
    ],
)
def test_a_busy_database_is_told_as_busy_and_asks_to_send_it_again(owner, monkeypatch, trouble):
    answer = _sent_while(owner, monkeypatch, trouble)
    assert answer.status_code == 503
    assert answer["Retry-After"] == "5"
    assert "was <b>not recorded</b>" in answer.content.decode()
    assert not Supplier.objects.exists()


def test_a_full_disk_is_no_busy_database(owner, monkeypatch):
    answer = _sent_while(owner, monkeypatch, "database or disk is full")
    assert answer.status_code == 500
    assert "Something broke on our side" in answer.content.decode()
