"""Eight people on a Saturday night record at once, each over a connection of their own."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from kegsafe.ledger.models import Chain, Entry
from kegsafe.ledger.verification import verify_chain, verify_records
from tests.builders import a_place, a_venue

PEOPLE = 8


@pytest.mark.records
@pytest.mark.django_db(transaction=True)
def test_eight_people_at_once_leave_eight_chained_entries():
    venue = a_venue()
    before = Entry.objects.count()
    together = Barrier(PEOPLE)

    def add_a_place(number: int) -> None:
        try:
            together.wait()
            a_place(venue, name=f"Fridge {number}")
        finally:
            connection.close()

    with ThreadPoolExecutor(PEOPLE) as people:
        list(people.map(add_a_place, range(PEOPLE)))

    assert Entry.objects.count() == before + PEOPLE
    verdict = verify_chain(Chain.objects.get(pk=venue.chain_id))
    assert (verdict.broken, verdict.entries) == (None, before + PEOPLE)
    assert list(verify_records()) == []
