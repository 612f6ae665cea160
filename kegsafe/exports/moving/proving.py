"""The ledger's word on what came in: the chain follows, and the records say what it says."""

import re

from kegsafe.exports.moving.belongings import belongings
from kegsafe.exports.moving.manifest import CannotMoveIn, Manifest
from kegsafe.ledger.models import Chain, Entry, Recorded
from kegsafe.ledger.verification import changed_rows, verify_chain
from kegsafe.venues.models import Venue

_SUBJECT = re.compile(r"([a-z_]+\.[a-z0-9_]+):([1-9][0-9]{0,18})", re.ASCII)
_ROWS_AT_ONCE = 2_000


def prove(venue: Venue, manifest: Manifest) -> None:
    """Raise CannotMoveIn unless the chain verifies and every recorded row is as it was recorded.

    An entry about a record that is not this venue's is refused too: it would be read as that
    record's history.
    """
    chain = Chain.objects.get(pk=manifest.chain)
    if (chain.head_sequence, chain.head_hash) != (manifest.entries, manifest.head):
        raise CannotMoveIn("The head of the ledger is not the one the manifest names.")
    broken = verify_chain(chain).broken
    if broken:
        raise CannotMoveIn(f"The ledger does not verify: entry {broken.sequence}: {broken.what}.")
    keys: dict[str, set[int]] = {}
    for belonging in belongings():
        if issubclass(belonging.model, Recorded):
            rows = belonging.rows(venue)
            for changed in changed_rows(rows):
                raise CannotMoveIn(f"A record was changed: {changed.what}.")
            keys[belonging.label] = set(rows.values_list("pk", flat=True))
    _refuse_entries_about_others(chain, keys)


def _refuse_entries_about_others(chain: Chain, keys: dict[str, set[int]]) -> None:
    entries = Entry.objects.filter(chain=chain).order_by("sequence")
    for sequence, subject in entries.values_list("sequence", "subject").iterator(_ROWS_AT_ONCE):
        said = _SUBJECT.fullmatch(subject)
        if not said or int(said[2]) not in keys.get(said[1], ()):
            about = f"{subject!r:.80}"
            raise CannotMoveIn(f"Entry {sequence} is about {about}, which is not in the file.")
