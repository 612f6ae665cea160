"""The database refuses to change an entry; where it was made to, walking the chain shows it."""

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.models import F

from kegsafe.equipment.models import Place
from kegsafe.ledger.models import GENESIS, Chain, Entry
from kegsafe.ledger.services import record
from kegsafe.ledger.verification import verify_chain, verify_records
from tests.builders import a_place, a_recorder, a_venue

pytestmark = [pytest.mark.records, pytest.mark.django_db]


@pytest.fixture
def chain():
    """Four entries: the venue, its owner, two places."""
    venue = a_venue()
    a_place(venue, name="Walk-in")
    a_place(venue, name="Back bar")
    return venue.chain


def _verdict(chain):
    return verify_chain(Chain.objects.get(pk=chain.pk))


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE ledger_entry SET person = 'somebody else'",
        "DELETE FROM ledger_entry",
    ],
)
def test_the_database_itself_keeps_entries_as_they_are(chain, statement):
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        connection.cursor().execute(statement)
    assert _verdict(chain).entries == 4


def test_an_entry_cannot_be_saved_again(chain):
    entry = Entry.objects.first()
    entry.person = "somebody else"
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        entry.save()


def test_a_chain_cannot_fork(chain):
    last = Entry.objects.get(chain=chain, sequence=4)
    last.pk, last.sequence = None, 5
    with pytest.raises(IntegrityError), transaction.atomic():
        last.save(force_insert=True)


def test_each_entry_names_the_hash_of_the_one_before(chain):
    entries = list(Entry.objects.filter(chain=chain).order_by("sequence"))
    assert [entry.sequence for entry in entries] == [1, 2, 3, 4]
    previous = [GENESIS, *(entry.hash for entry in entries)]
    assert [entry.previous_hash for entry in entries] == previous[:-1]


def test_an_untouched_chain_is_walked_to_its_head(chain):
    verdict = _verdict(chain)
    assert verdict.broken is None
    assert verdict.head_hash == Chain.objects.get(pk=chain.pk).head_hash


@pytest.mark.usefixtures("unlocked")
@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("recorded_at_us", 1),
        ("person", "somebody else"),
        ("action", "removed"),
        ("subject", "equipment.place:99"),
        ("record", "{}"),
        ("detail", '{"reason":"none"}'),
        ("hash", "f" * 64),
    ],
)
def test_a_changed_field_of_an_entry_is_found(chain, field, value):
    Entry.objects.filter(chain=chain, sequence=2).update(**{field: value})
    broken = _verdict(chain).broken
    assert (broken.sequence, broken.what) == (2, "its text is not the text that was hashed")


@pytest.mark.usefixtures("unlocked")
def test_an_entry_that_follows_another_than_the_one_before_is_found(chain):
    Entry.objects.filter(chain=chain, sequence=3).update(previous_hash="e" * 64)
    broken = _verdict(chain).broken
    assert (broken.sequence, broken.what) == (3, "it does not follow the entry before it")


@pytest.mark.usefixtures("unlocked")
def test_an_entry_taken_out_of_the_middle_is_found(chain):
    Entry.objects.filter(chain=chain, sequence=3).delete()
    assert _verdict(chain).broken.what == "entry 3 is missing"


@pytest.mark.usefixtures("unlocked")
def test_entries_that_changed_places_are_found(chain):
    first, second = Entry.objects.filter(chain=chain, sequence__in=(2, 3)).order_by("sequence")
    Entry.objects.filter(pk=first.pk).update(sequence=99)
    Entry.objects.filter(pk=second.pk).update(sequence=2)
    Entry.objects.filter(pk=first.pk).update(sequence=3)
    assert _verdict(chain).broken.sequence == 2


@pytest.mark.usefixtures("unlocked")
def test_a_tail_that_was_cut_off_is_found(chain):
    Entry.objects.filter(chain=chain, sequence=4).delete()
    assert _verdict(chain).broken.what == "the chain ends at entry 3, its head says 4"


@pytest.mark.usefixtures("unlocked")
def test_an_entry_put_in_with_a_right_hash_is_found_by_the_head(chain):
    head = Chain.objects.get(pk=chain.pk)
    place = Place.objects.first()
    record(place, by=a_recorder(place.venue), action="forged")
    Chain.objects.filter(pk=chain.pk).update(
        head_sequence=head.head_sequence, head_hash=head.head_hash
    )
    assert _verdict(chain).broken.what == "the chain ends at entry 5, its head says 4"


def test_records_that_say_what_was_recorded_are_in_order(chain):
    assert list(verify_records()) == []


def test_a_row_changed_behind_the_services_back_is_found(chain):
    Place.objects.filter(name="Walk-in").update(kind=Place.Kind.DRY_STORE)
    (broken,) = verify_records()
    assert broken.what.endswith("no longer says what its last entry recorded")


def test_a_row_that_was_never_recorded_is_found(chain):
    place = Place.objects.create(venue=chain.venue, name="Secret", kind=Place.Kind.FRIDGE)
    (broken,) = verify_records()
    assert broken.what == f"{place.ledger_subject} has no entry in the ledger"


def test_a_row_that_is_gone_is_found(chain):
    place = Place.objects.get(name="Walk-in")
    subject = place.ledger_subject
    place.delete()
    (broken,) = verify_records()
    assert broken.what == f"{subject} has entries in the ledger but is gone"


def test_the_command_prints_the_head_that_the_page_shows(chain, capsys):
    call_command("verify_ledger")
    printed = capsys.readouterr().out
    assert Chain.objects.get(pk=chain.pk).head_hash in printed
    assert "Every record says what its last entry says." in printed


def test_the_command_fails_and_names_what_is_wrong(chain, capsys):
    Place.objects.filter(name="Walk-in").update(venue_id=F("venue_id"), name="Renamed")
    with pytest.raises(CommandError, match=r"1 fault\(s\)"):
        call_command("verify_ledger")
    assert "no longer says" in capsys.readouterr().err
