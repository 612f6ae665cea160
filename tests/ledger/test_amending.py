"""A record is amended, never overwritten: first value, new value, who, when and why all stay."""

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.equipment.models import Keg, Place
from kegsafe.ledger.models import Entry
from kegsafe.ledger.queries import history
from kegsafe.ledger.services import (
    StaleRecord,
    amend,
    create,
    last_sequence,
    open_chain,
    record,
)
from tests.builders import a_keg, a_place, a_recorder, a_venue

pytestmark = [pytest.mark.records, pytest.mark.django_db]


@pytest.fixture
def keg():
    return a_keg(a_venue(), name="K7")


def test_the_first_and_the_new_value_stay_with_the_reason(keg):
    by = a_recorder(keg.venue, "petra")
    amend(keg, {"serial": "A-12"}, by=by, reason="Read it off the plate.")
    event = history(keg)[0]
    (change,) = event.changes
    assert (change.first, change.new) == ("", "A-12")
    assert (event.person, event.reason) == ("petra", "Read it off the plate.")


def test_an_amendment_without_a_reason_is_refused_and_changes_nothing(keg):
    with pytest.raises(ValidationError, match="Say why"):
        amend(keg, {"serial": "A-12"}, by=a_recorder(keg.venue), reason="  ")
    assert Keg.objects.get(pk=keg.pk).serial == ""


def test_nothing_changed_leaves_no_entry(keg):
    before = Entry.objects.count()
    assert amend(keg, {"name": "K7"}, by=a_recorder(keg.venue), reason="None") is None
    assert Entry.objects.count() == before


def test_a_record_somebody_else_changed_meanwhile_is_refused(keg):
    seen = last_sequence(keg)
    by = a_recorder(keg.venue)
    amend(keg, {"serial": "A-12"}, by=by, reason="First", seen_sequence=seen)
    with pytest.raises(StaleRecord, match="Somebody else changed this record"):
        amend(keg, {"serial": "B-13"}, by=by, reason="Second", seen_sequence=seen)
    assert Keg.objects.get(pk=keg.pk).serial == "A-12"


def test_a_record_that_breaks_a_rule_of_its_model_leaves_no_entry(keg):
    before = Entry.objects.count()
    twin = Keg(venue=keg.venue, name="K7", capacity_ml=1)
    with pytest.raises(ValidationError, match="already a keg of this name"):
        create(twin, by=a_recorder(keg.venue), action="added")
    assert Entry.objects.count() == before


def test_a_record_whose_entry_fails_is_not_kept():
    venue = a_venue()
    place = Place(venue=venue, name="Walk-in", kind=Place.Kind.WALK_IN)
    with pytest.raises(ValueError, match="on one line"):
        create(place, by=a_recorder(venue, "two\nlines"), action="added")
    assert not Place.objects.filter(name="Walk-in").exists()


def test_history_is_newest_first_in_one_query(keg, django_assert_num_queries):
    by = a_recorder(keg.venue)
    for serial in ("A", "B", "C"):
        amend(keg, {"serial": serial}, by=by, reason="Again")
    with django_assert_num_queries(1):
        events = history(keg)
    assert [event.action for event in events] == ["amended", "amended", "amended", "added"]
    assert events[0].changes[0].new == "C"


@pytest.mark.django_db(transaction=True)
def test_an_entry_outside_a_transaction_is_refused():
    place = a_place(a_venue())
    with pytest.raises(transaction.TransactionManagementError, match="in the transaction"):
        record(place, by=a_recorder(place.venue), action="moved")


def test_a_chain_begins_empty():
    chain = open_chain()
    assert (chain.head_sequence, chain.entries.count()) == (0, 0)


def test_a_form_that_changes_nothing_is_not_told_as_recorded(client, keg):
    client.force_login(keg.venue.memberships.get().user)
    address = f"/equipment/kegs/{keg.pk}/amend/"
    form = client.get(address).context["form"]
    shown = {name: form[name].value() or "" for name in form.fields}
    answer = client.post(address, {**shown, "reason": "Only looked."})
    assert answer.context["form"].non_field_errors() == [
        "Nothing is changed yet. Change what is wrong, then say why."
    ]
