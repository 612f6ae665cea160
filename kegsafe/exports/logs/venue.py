"""Who works here, and everything that happened: people and the ledger itself."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from kegsafe.exports.logs.log import Column, Log, Period, Row, in_pages, moment, recorded, words
from kegsafe.ledger.models import Entry
from kegsafe.venues.access import MANAGERS
from kegsafe.venues.models import Membership, Role, Venue

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)

_PEOPLE = (
    Column("username", "Signs in as", "user__username"),
    Column("name", "Name", "user__first_name"),
    words("role", "Role", Role.choices),
    Column("is_active", "May enter"),
    moment("joined_at", "Account made", "user__date_joined"),
)
_ENTRIES = (
    Column("chain", "Chain"),
    Column("sequence", "Entry"),
    Column(
        "recorded_at",
        "Recorded",
        "recorded_at_us",
        lambda at: _EPOCH + at * _MICROSECOND,
        is_moment=True,
    ),
    Column("recorded_at_us", "Recorded (microseconds since 1970-01-01 UTC, as hashed)"),
    Column("person", "Who"),
    Column("action", "What happened"),
    Column("subject", "To what"),
    Column("record", "The record after it (JSON, as hashed)"),
    Column("detail", "What else was said (JSON, as hashed)"),
    Column("previous_hash", "Hash of the entry before (SHA-256)"),
    Column("hash", "Hash of this entry (SHA-256)"),
)


def _entries(venue: Venue, period: Period) -> Iterator[Row]:
    of_chain = Entry.objects.filter(chain=venue.chain_id)
    narrowed = period.narrows("recorded_at_us", lambda at: (at - _EPOCH) // _MICROSECOND)
    yield from in_pages(of_chain.filter(**narrowed), _ENTRIES, by="sequence")


LOGS = (
    Log(
        "people",
        "People and roles",
        "Who may do what here, as the list stands now. No passwords.",
        _PEOPLE,
        recorded(lambda venue: Membership.objects.filter(venue=venue), _PEOPLE),
        is_dated=False,
        read=MANAGERS,
    ),
    Log(
        "ledger",
        "Ledger",
        "Every entry with its hash. As JSON lines the hashes can be worked out again.",
        _ENTRIES,
        _entries,
    ),
)
