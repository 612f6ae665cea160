"""Whoever changes one thing in the ledger behind the services' back is found, entry and all.

A thousand changes, each on its own, by somebody who may do anything to the
database: the append-only triggers are gone and every column can be written.
"""

import random
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from hashlib import sha256

import pytest
from django.db import connection, transaction
from django.utils import timezone

from kegsafe.cold_chain.services import record_reading
from kegsafe.ledger import append_only
from kegsafe.ledger.models import Chain, Entry
from kegsafe.ledger.verification import verify_chain
from tests.builders import a_keg, a_place, a_recorder, a_venue

CHANGES = 1_000
READINGS = 200
WRITTEN = ("person", "action", "subject", "record", "detail", "previous_hash", "hash")

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def chain():
    """The chain of a bar with some equipment and two hundred readings; its guards are gone."""
    venue = a_venue(name="Żubr & Söhne")
    by, place = a_recorder(venue), a_place(venue)
    for number in range(READINGS):
        if number % 10 == 0:
            a_keg(venue)
        record_reading(
            place=place,
            read_at=timezone.now() - timedelta(minutes=number),
            temperature_degc=Decimal(number) / 100,
            by=by,
            note='door "stood" open' if number % 3 else "",
        )
    append_only.remove(connection)
    yield Chain.objects.get(pk=venue.chain_id)
    append_only.install(connection)


# The changes: each does one thing and returns the entry that must be named.


def one_character_of_a_text(chain: Chain, rng: random.Random) -> int:
    """Another character instead of it, or nothing."""
    entry, column = _any(chain, rng), rng.choice(WRITTEN)
    text = getattr(entry, column)
    at = rng.randrange(len(text))
    other = rng.choice([char for char in 'a0{}":,.é ' if char != text[at]])
    return _set(entry, **{column: text[:at] + rng.choice([other, ""]) + text[at + 1 :]})


def a_text_emptied(chain: Chain, rng: random.Random) -> int:
    return _set(_any(chain, rng), **{rng.choice(WRITTEN): ""})


def the_time(chain: Chain, rng: random.Random) -> int:
    entry = _any(chain, rng)
    by_us = rng.choice([-1, 1]) * rng.choice([1, 1_000_000, 86_400_000_000])
    return _set(entry, recorded_at_us=entry.recorded_at_us + by_us)


def the_person(chain: Chain, rng: random.Random) -> int:
    return _set(_any(chain, rng), person="somebody else")


def the_place_in_the_chain(chain: Chain, rng: random.Random) -> int:
    entry = _any(chain, rng)
    gone = entry.sequence
    _set(entry, sequence=chain.head_sequence + rng.randrange(1, 1_000))
    return gone


def moved_to_another_chain(chain: Chain, rng: random.Random) -> int:
    return _set(_any(chain, rng), chain_id=Chain.objects.exclude(pk=chain.pk).get().pk)


def taken_out(chain: Chain, rng: random.Random) -> int:
    entry = _any(chain, rng)
    Entry.objects.filter(pk=entry.pk).delete()
    return entry.sequence


def tail_cut_off(chain: Chain, rng: random.Random) -> int:
    kept = rng.randrange(chain.head_sequence)
    chain.entries.filter(sequence__gt=kept).delete()
    return kept + 1


def two_swapped(chain: Chain, rng: random.Random) -> int:
    """The first of the two is where the chain stops making sense."""
    first, second = sorted(rng.sample(range(1, chain.head_sequence + 1), 2))
    one, other = chain.entries.get(sequence=first), chain.entries.get(sequence=second)
    _set(one, sequence=chain.head_sequence + 1)
    _set(other, sequence=first)
    _set(one, sequence=second)
    return first


def rewritten_with_a_hash_that_fits(chain: Chain, rng: random.Random) -> int:
    entry = _any(chain, rng)
    entry.record = entry.record[:-1] + ',"note":"all was well"}'
    return _set(entry, record=entry.record, hash=_fitting_hash(entry))


def forged_at_the_end(chain: Chain, rng: random.Random) -> int:
    last = chain.entries.get(sequence=chain.head_sequence)
    return _forge(last, rng).sequence


def forged_in_between(chain: Chain, rng: random.Random) -> int:
    """Its own hash fits; what shows is the entry it pushed along, which it had to change."""
    before = chain.entries.get(sequence=rng.randrange(1, chain.head_sequence))
    far = 1_000_000
    pushed = chain.entries.filter(sequence__gt=before.sequence)
    for entry in pushed.order_by("sequence"):
        _set(entry, sequence=entry.sequence + far)
    following = chain.entries.get(sequence=before.sequence + 1 + far)
    _set(following, previous_hash="to be tied to the forged one")
    forged = _forge(before, rng)
    _set(following, previous_hash=forged.hash)
    for entry in chain.entries.filter(sequence__gt=far).order_by("sequence"):
        _set(entry, sequence=entry.sequence - far + 1)
    return before.sequence + 2


def the_head_hash(chain: Chain, rng: random.Random) -> int:
    at = rng.randrange(64)
    digit = "1" if chain.head_hash[at] == "0" else "0"
    changed = chain.head_hash[:at] + digit + chain.head_hash[at + 1 :]
    Chain.objects.filter(pk=chain.pk).update(head_hash=changed)
    return chain.head_sequence


def the_head_sequence(chain: Chain, rng: random.Random) -> int:
    said = rng.choice([number for number in range(2 * READINGS) if number != chain.head_sequence])
    Chain.objects.filter(pk=chain.pk).update(head_sequence=said)
    return min(said, chain.head_sequence) + 1


KINDS: tuple[Callable[[Chain, random.Random], int], ...] = (
    one_character_of_a_text,
    a_text_emptied,
    the_time,
    the_person,
    the_place_in_the_chain,
    moved_to_another_chain,
    taken_out,
    tail_cut_off,
    two_swapped,
    rewritten_with_a_hash_that_fits,
    forged_at_the_end,
    forged_in_between,
    the_head_hash,
    the_head_sequence,
)


def test_each_of_a_thousand_single_changes_is_found_and_its_entry_named(chain):
    Chain.objects.create(key="another venue's")
    rng = random.Random(20261125)
    missed = []
    for number in range(CHANGES):
        kind = KINDS[number % len(KINDS)] if number < CHANGES // 2 else KINDS[0]
        expected, named = _named_after(kind, chain, rng)
        if named != expected:
            missed.append((number, kind.__name__, expected, named))
    assert missed == []


def test_the_chain_that_the_changes_were_tried_on_is_sound(chain):
    """Otherwise a checker that always complains would pass."""
    verdict = verify_chain(chain)
    assert verdict.broken is None
    assert verdict.entries > READINGS


def _named_after(
    kind: Callable[[Chain, random.Random], int], chain: Chain, rng: random.Random
) -> tuple[int, int | None]:
    """Try one change, ask, and undo it."""
    with transaction.atomic():
        expected = kind(chain, rng)
        broken = verify_chain(Chain.objects.get(pk=chain.pk)).broken
        transaction.set_rollback(True)
    return expected, broken and broken.sequence


def _any(chain: Chain, rng: random.Random) -> Entry:
    return chain.entries.get(sequence=rng.randrange(1, chain.head_sequence + 1))


def _set(entry: Entry, **columns: object) -> int:
    Entry.objects.filter(pk=entry.pk).update(**columns)
    return entry.sequence


def _forge(before: Entry, rng: random.Random) -> Entry:
    """Put an entry after another one, with everything about it as it should be."""
    forged = Entry(
        chain_id=before.chain_id,
        sequence=before.sequence + 1,
        recorded_at_us=before.recorded_at_us + rng.randrange(1_000),
        person=before.person,
        action="read",
        subject=before.subject,
        record=before.record,
        detail="{}",
        previous_hash=before.hash,
    )
    forged.hash = _fitting_hash(forged)
    forged.save(force_insert=True)
    return forged


def _fitting_hash(entry: Entry) -> str:
    """SHA-256 of the fields in their documented order, one a line, worked out here once more."""
    fields = (
        entry.chain_id,
        str(entry.sequence),
        str(entry.recorded_at_us),
        entry.person,
        entry.action,
        entry.subject,
        entry.previous_hash,
        entry.record,
        entry.detail,
    )
    return sha256("\n".join(fields).encode()).hexdigest()
