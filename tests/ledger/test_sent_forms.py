"""A form sent twice is recorded once."""

import re
from datetime import timedelta
from threading import Barrier, Thread

import pytest
from django.db import connection, transaction
from django.test import Client
from django.utils import timezone

from kegsafe.equipment.models import Place
from kegsafe.ledger.models import Entry, SentForm
from kegsafe.ledger.sent_forms import KEPT_FOR, RecordedAlready, being_sent
from kegsafe.stock.models import Delivery, Supplier
from tests.builders import a_place, a_supplier, a_venue, an_ingredient

ADDRESS = "/stock/suppliers/add/"


def _browser(venue) -> Client:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(venue.memberships.get().user)
    return browser


def _token(browser: Client, address: str = ADDRESS) -> str:
    page = browser.get(address).content.decode()
    return re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page).group(1)


@pytest.mark.django_db
def test_the_same_delivery_sent_twice_is_received_once():
    venue = a_venue()
    browser = _browser(venue)
    address = "/stock/deliveries/add/"
    typed = {
        "csrfmiddlewaretoken": _token(browser, address),
        "supplier": a_supplier(venue).pk,
        "lot-TOTAL_FORMS": 1,
        "lot-INITIAL_FORMS": 0,
        "lot-0-ingredient": an_ingredient(venue).name,
        "lot-0-quantity": "700 ml",
        "lot-0-date_kind": "none",
        "lot-0-decision": "accept",
    }
    assert browser.post(address, typed).status_code == 302
    entries = Entry.objects.count()
    again = browser.post(address, typed)
    assert again.status_code == 409
    assert "It is recorded <b>once</b>" in again.content.decode()
    assert (Delivery.objects.count(), Entry.objects.count()) == (1, entries)


@pytest.mark.django_db
def test_the_same_words_on_a_page_opened_anew_are_another_act():
    venue = a_venue()
    browser, place = _browser(venue), a_place(venue)
    readings = {f"place-{place.pk}_0": "3", f"place-{place.pk}_1": "°C"}
    for _ in range(2):
        token = _token(browser, "/cold/")
        answer = browser.post("/cold/", {**readings, "csrfmiddlewaretoken": token})
        assert answer.status_code == 302
    assert place.readings.count() == 2


@pytest.mark.django_db
def test_other_words_on_the_same_page_are_another_act():
    browser = _browser(a_venue())
    token = _token(browser)
    for name in ("Grove & Peel", "Peel & Grove"):
        browser.post(ADDRESS, {"name": name, "csrfmiddlewaretoken": token})
    assert Supplier.objects.count() == 2


@pytest.mark.django_db
def test_a_form_that_was_refused_can_be_sent_again_as_it_is():
    venue = a_venue()
    browser = _browser(venue)
    a_supplier(venue, name="Grove & Peel")
    typed = {"name": "Grove & Peel", "csrfmiddlewaretoken": _token(browser)}
    assert [browser.post(ADDRESS, typed).status_code for _ in range(2)] == [200, 200]


@pytest.mark.django_db
def test_what_is_rolled_back_was_not_sent():
    venue = a_venue()
    with being_sent("one form"), transaction.atomic():
        a_place(venue, name="Walk-in")
        transaction.set_rollback(True)
    with being_sent("one form"):
        a_place(venue, name="Walk-in")
    with being_sent("one form"), pytest.raises(RecordedAlready):
        a_place(venue, name="Another")
    assert [place.name for place in Place.objects.all()] == ["Walk-in"]


@pytest.mark.django_db
def test_an_old_form_is_forgotten():
    now = timezone.now()
    SentForm.objects.create(key="old", recorded_at=now - KEPT_FOR - timedelta(minutes=1))
    SentForm.objects.create(key="young", recorded_at=now - KEPT_FOR + timedelta(minutes=1))
    venue = a_venue()
    with being_sent("new"):
        a_place(venue)
    assert set(SentForm.objects.values_list("key", flat=True)) == {"young", "new"}


@pytest.mark.django_db(transaction=True)
def test_two_equal_forms_at_one_moment_are_recorded_once():
    venue, gate, refused = a_venue(), Barrier(4), []

    def send(number: int) -> None:
        try:
            gate.wait()
            with being_sent("one form"):
                a_place(venue, name=f"Cooler {number}")
        except RecordedAlready:
            refused.append(number)
        finally:
            connection.close()

    people = [Thread(target=send, args=(number,)) for number in range(4)]
    for person in people:
        person.start()
    for person in people:
        person.join()
    assert (Place.objects.count(), len(refused)) == (1, 3)
