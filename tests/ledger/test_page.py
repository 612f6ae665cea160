"""The ledger page: what happened, newest first, however long the chain is."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain.services import record_reading
from kegsafe.ledger.models import Chain, Entry
from kegsafe.stock import services as stock
from tests.builders import (
    a_keg,
    a_person,
    a_place,
    a_recorder,
    a_venue,
    an_ingredient,
)
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db
URL = "/ledger/"


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def reader(client, venue):
    client.force_login(a_person(venue, "inspector"))
    return client


def _many_entries(venue, count):
    """Rows for the sake of their number; their hashes chain nothing."""
    first = Chain.objects.get(pk=venue.chain_id).head_sequence + 1
    Entry.objects.bulk_create(
        Entry(
            chain_id=venue.chain_id,
            sequence=number,
            recorded_at_us=number,
            person=f"person{number % 7}",
            action="read",
            subject=f"cold_chain.reading:{number}",
            record='{"id":1}',
            detail="{}",
            previous_hash=f"{number - 1:064d}",
            hash=f"{number:064d}",
        )
        for number in range(first, first + count)
    )


def test_the_newest_entry_stands_first_and_the_head_is_shown(reader, venue):
    a_keg(venue, name="K7")
    page = reader.get(URL).content.decode()
    assert page.index("K7") < page.index("Opened")
    assert Chain.objects.get(pk=venue.chain_id).head_hash in page
    assert "verify_ledger" in page


def test_a_record_without_a_name_is_known_by_the_one_beside_it(reader, venue):
    by = a_recorder(venue)
    walk_in, gin = a_place(venue, name="Walk-in"), an_ingredient(venue, name="Gin")
    temperature = Decimal("3.2")
    record_reading(place=walk_in, read_at=timezone.now(), temperature_degc=temperature, by=by)
    stock.state_allergen(ingredient=gin, source="wheat", statement="contains", by=by)
    named = {line.kind: line.name for line in reader.get(URL).context["lines"]}
    assert named["reading"] == "Walk-in"
    assert named["ingredient allergen"] == "Gin"
    assert named["membership"] == venue.memberships.earliest("pk").user.username


def test_naming_many_records_takes_one_query_a_kind(reader, venue):
    def read(place) -> None:
        record_reading(
            place=place, read_at=timezone.now(), temperature_degc=Decimal(3), by=a_recorder(venue)
        )

    read(a_place(venue))
    few = queries_of(reader, URL)
    for _ in range(15):
        read(a_place(venue))
    assert queries_of(reader, URL) == few


def test_older_entries_are_a_page_away_and_none_is_lost(reader, venue):
    _many_entries(venue, 120)
    seen, url = [], URL
    while url:
        context = reader.get(url).context
        seen += [line.event.sequence for line in context["lines"]]
        older = context["older_before"]
        url = f"{URL}?before={older}" if older else None
    assert seen == sorted(seen, reverse=True)
    assert len(seen) == Entry.objects.filter(chain=venue.chain_id).count()


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ({"person": "mara", "kind": "equipment.keg"}, ["added"]),
        ({"action": "OPEN"}, ["opened"]),
        ({"kind": "equipment.keg"}, ["added"]),
        ({"person": "nobody"}, []),
    ],
)
def test_entries_are_found_by_person_action_and_kind(reader, venue, query, expected):
    a_keg(venue)
    a_place(venue)
    lines = reader.get(URL, query).context["lines"]
    assert [line.event.action for line in lines] == expected


def test_one_record_can_be_followed(reader, venue):
    keg = a_keg(venue)
    a_keg(venue)
    lines = reader.get(URL, {"subject": keg.ledger_subject}).context["lines"]
    assert [line.subject for line in lines] == [keg.ledger_subject]


@pytest.mark.parametrize("before", ["", "zwei", "-1", "9" * 40, "²"])
def test_a_page_that_cannot_be_read_shows_the_first(reader, before):
    assert reader.get(URL, {"before": before}).status_code == 200


def test_another_venue_keeps_its_ledger_to_itself(reader):
    a_keg(a_venue(name="Elsewhere"), name="Not yours")
    assert "Not yours" not in reader.get(URL).content.decode()


def test_a_hundred_thousand_entries_take_as_many_queries_as_a_few(reader, venue):
    few = queries_of(reader, URL)
    _many_entries(venue, 100_000)
    assert queries_of(reader, URL) <= few
    assert queries_of(reader, f"{URL}?before=60000&person=person3") <= few


def test_the_address_is_named(reader):
    assert reverse("ledger") == URL
