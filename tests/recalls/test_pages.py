"""Pages of recalls: find the lot, look first, begin, look for each piece, close."""

import re
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from kegsafe.batches.models import Fill
from kegsafe.recalls.models import Recall
from kegsafe.recalls.services import begin_recall
from kegsafe.venues.models import Role
from tests.builders import a_batch, a_fill, a_lot, a_person, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue(units="metric")


@pytest.fixture
def client(venue):
    browser = Client()
    browser.force_login(a_person(venue, Role.MANAGER))
    return browser


@pytest.fixture
def lot(venue):
    return a_lot(venue, supplier_lot_code="LW-26A")


@pytest.fixture
def fill(venue, lot):
    return a_fill(venue, batch=a_batch(venue, lot))


def sent(lot, **more):
    return {"lots": [lot.pk], "reason": "Glass in the syrup", "is_drill": "recall", **more}


BEGIN = "/recalls/begin/"


def test_the_code_of_the_suppliers_notice_finds_the_lot(client, lot):
    a_lot(lot.venue, supplier_lot_code="OTHER")
    page = client.get(BEGIN, {"q": "lw-26"}).content.decode()
    assert "LW-26A" in page
    assert "OTHER" not in page


def test_words_that_fit_no_lot_are_said_to(client, lot):
    page = client.get(BEGIN, {"q": "<b>نعناع"}).content.decode()
    assert "No lot fits “&lt;b&gt;نعناع”" in page


def test_looking_first_names_the_keg_and_records_nothing(client, lot, fill):
    page = client.post(BEGIN, sent(lot, look="yes")).content.decode()
    assert str(fill.keg) in page
    assert "Glass in the syrup" in page
    assert not Recall.objects.exists()


def test_beginning_leads_to_the_list_and_holds_the_keg(client, lot, fill):
    answer = client.post(BEGIN, sent(lot), follow=True)
    assert answer.redirect_chain[-1][0] == Recall.objects.get().get_absolute_url()
    fill.refresh_from_db()
    assert fill.state == Fill.State.ON_HOLD
    assert "Do not use, do not pour" in answer.content.decode()


@pytest.mark.parametrize(
    ("spoilt", "sentence"),
    [
        ({"lots": []}, "Tick at least one lot."),
        ({"lots": ["9" * 30]}, "not on the list, or no longer"),
        ({"reason": " "}, "Say what is wrong"),
        ({"is_drill": ""}, "whether this is a recall or a drill"),
    ],
)
def test_what_is_missing_is_said_at_its_field(client, lot, spoilt, sentence):
    page = client.post(BEGIN, sent(lot, **spoilt)).content.decode()
    assert re.search(sentence, page)
    assert not Recall.objects.exists()


def test_another_bars_lot_is_not_offered_and_not_taken(client, lot):
    foreign = a_lot(a_venue())
    assert str(foreign.code) not in client.get(BEGIN, {"lot": foreign.pk}).content.decode()
    client.post(BEGIN, sent(foreign))
    assert not Recall.objects.exists()


def test_a_piece_is_found_with_its_unit_and_a_wrong_one_is_told(client, venue, lot, fill):
    recall = begin_recall(venue=venue, lots=[lot], reason="Glass", by=a_recorder(venue))
    item = recall.items.get(fill=fill)
    address = reverse("recall-item", args=[item.pk])
    wrong = client.post(address, {"outcome": "found", "amount_found": "5", "disposition": "kept"})
    assert "has no unit" in wrong.content.decode()
    client.post(address, {"outcome": "found", "amount_found": "5 L", "disposition": "kept"})
    item.refresh_from_db()
    assert item.amount_found == 5000


def test_a_recall_ends_when_each_piece_is_settled(client, venue, lot):
    recall = begin_recall(
        venue=venue, lots=[lot], reason="Drill", is_drill=True, by=a_recorder(venue)
    )
    close = reverse("recall-close", args=[recall.pk])
    assert "Still to be looked for" in client.post(close, {"note": "x"}).content.decode()
    item = recall.items.get()
    client.post(
        reverse("recall-item", args=[item.pk]), {"outcome": "not_found", "note": "Not in the store"}
    )
    client.post(close, {"note": "One lot could not be found."})
    page = client.get(recall.get_absolute_url()).content.decode()
    assert "One lot could not be found." in page
    assert f"{lot}" in page
    recall.refresh_from_db()
    assert not recall.is_open


def test_the_letter_names_the_suppliers_code_and_what_is_held(client, venue, lot, fill):
    recall = begin_recall(
        venue=venue, lots=[lot], reason="Glass", notice="N 17 <x>", by=a_recorder(venue)
    )
    page = client.get(reverse("recall-letter", args=[recall.pk])).content.decode()
    assert "your lot LW-26A" in page
    assert str(fill.keg) in page
    assert "N 17 &lt;x&gt;" in page


def test_pages_cost_the_same_for_one_keg_as_for_many(client, venue, lot, fill):
    recall = begin_recall(venue=venue, lots=[lot], reason="A", by=a_recorder(venue), is_drill=True)
    addresses = ["/recalls/", recall.get_absolute_url()]
    addresses.append(reverse("recall-letter", args=[recall.pk]))
    few = [queries_of(client, address) for address in addresses]
    for _ in range(3):
        a_fill(venue, batch=a_batch(venue, lot, drawn=Decimal(50)))
    many = begin_recall(venue=venue, lots=[lot], reason="B", by=a_recorder(venue), is_drill=True)
    addresses = ["/recalls/", many.get_absolute_url()]
    addresses.append(reverse("recall-letter", args=[many.pk]))
    assert [queries_of(client, address) for address in addresses] == few
