"""How long it takes to verify a ledger of a million entries, against reading and hashing it."""

from collections.abc import Iterator
from hashlib import sha256

from django.db import connection, transaction

from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.throw_away import Site
from kegsafe.ledger.canonical import entry_hash
from kegsafe.ledger.models import GENESIS, Chain
from kegsafe.ledger.services import open_chain
from kegsafe.ledger.verification import verify_chain

ENTRIES = 1_000_000
MOST_TIMES_READING_AND_HASHING = 2.5

_STORED = "person, action, subject, previous_hash, record, detail, hash"


def measure(site: Site, rounds: int) -> Iterator[Comparison]:
    """Measure `verify_ledger`'s walk of one long chain."""
    chain = open_chain()
    with transaction.atomic():
        _write_entries(chain)
    chain.refresh_from_db()
    works = {
        f"verifying {ENTRIES:,} entries": lambda: _verify(chain),
        "reading and hashing their bytes": lambda: _read_and_hash(chain),
    }
    seconds = take_turns(works, rounds=rounds, times=1)
    yield compare(*works, seconds, bound=MOST_TIMES_READING_AND_HASHING)


def _verify(chain: Chain) -> None:
    verdict = verify_chain(chain)
    if verdict.broken or verdict.entries != ENTRIES:
        raise RuntimeError(f"the chain is not what was measured for: {verdict}")


def _read_and_hash(chain: Chain) -> None:
    """The yardstick: every stored text goes through SHA-256 once, and nothing is compared."""
    with connection.chunked_cursor() as cursor:
        cursor.execute(
            f"SELECT {_STORED} FROM ledger_entry WHERE chain_id = %s ORDER BY sequence",  # noqa: S608
            [chain.key],
        )
        for row in cursor:
            sha256("".join(row).encode()).hexdigest()


def _write_entries(chain: Chain) -> None:
    """Insert a chain such as a bar's readings make, every hash as it must be."""
    rows = _Rows(chain.key)
    with connection.cursor() as cursor:
        cursor.executemany(
            "INSERT INTO ledger_entry (chain_id, sequence, recorded_at_us, person, action, "
            "subject, record, detail, previous_hash, hash) "
            "VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)",
            rows,
        )
    Chain.objects.filter(pk=chain.pk).update(head_sequence=ENTRIES, head_hash=rows.last_hash)


class _Rows:
    def __init__(self, chain_key: str) -> None:
        self.chain_key = chain_key
        self.last_hash = GENESIS

    def __iter__(self) -> Iterator[tuple[object, ...]]:
        for sequence in range(1, ENTRIES + 1):
            entry = {
                "sequence": sequence,
                "recorded_at_us": 1_790_000_000_000_000 + sequence * 60_000_000,
                "person": "mara",
                "action": "read",
                "subject": f"cold_chain.reading:{sequence}",
                "record": f'{{"id":{sequence},"note":"","place_id":1,"read_at":"2026-09-21T12:00:00'
                '.000000+00:00","recorded_by":"mara","temperature_degc":"3.10"}',
                "detail": "{}",
                "previous_hash": self.last_hash,
            }
            self.last_hash = entry_hash(chain=self.chain_key, **entry)
            yield (self.chain_key, *entry.values(), self.last_hash)
