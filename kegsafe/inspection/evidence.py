"""What a pack shows, as entries of the ledger, and whether they still stand in the chain.

A page of a pack shows records as they were at the head of the chain. The evidence names each of
these records with its newest entry up to that head. Recomputing an entry's hash from its text
shows that the chain still says, word for word, what the pack was made from.
"""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import Any, Self

from kegsafe.ledger.canonical import canonical_json
from kegsafe.ledger.models import Chain, Entry
from kegsafe.ledger.verification import text_still_fits

EVIDENCE_FILE = "evidence.json"
FORMAT = "kegsafe pack evidence 1"
_AT_ONCE = 500
_MOST_NAMED = 20


class NotEvidence(ValueError):
    """An attached file that is no evidence of ours."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a pack was made from.

    `entries` gives for each record shown (`batches.fill:12`) the sequence and the hash of its
    newest entry up to the head.
    """

    chain: str
    head_sequence: int
    head_hash: str
    venue: str
    first: date
    last: date
    entries: dict[str, tuple[int, str]]

    def as_bytes(self) -> bytes:
        """Return the file that is attached to the pack: the same evidence, the same bytes."""
        said: dict[str, Any] = {
            "format": FORMAT,
            "chain": self.chain,
            "head_sequence": self.head_sequence,
            "head_hash": self.head_hash,
            "venue": self.venue,
            "first": self.first.isoformat(),
            "last": self.last.isoformat(),
            "entries": {subject: list(entry) for subject, entry in self.entries.items()},
        }
        return canonical_json(said).encode()

    @classmethod
    def from_bytes(cls, content: bytes) -> Self:
        """Read an attached file. Raises NotEvidence for anything but evidence of this format."""
        try:
            said = json.loads(content)
            if said.pop("format") != FORMAT:
                raise NotEvidence("The attached evidence is of another format.")
            return cls(
                chain=str(said["chain"]),
                head_sequence=int(said["head_sequence"]),
                head_hash=str(said["head_hash"]),
                venue=str(said["venue"]),
                first=date.fromisoformat(said["first"]),
                last=date.fromisoformat(said["last"]),
                entries={
                    str(subject): (int(sequence), str(digest))
                    for subject, (sequence, digest) in said["entries"].items()
                },
            )
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise NotEvidence("The attached evidence cannot be read.") from error


@dataclass(frozen=True, slots=True)
class Following:
    """How a pack's evidence stands in the chain of today.

    `missing` are records whose entry the chain does not hold as the pack names it, at most
    twenty of them; `amended_since` counts records with a later entry, which is no fault.
    """

    head_stands: bool
    checked: int
    missing_count: int
    missing: tuple[str, ...]
    amended_since: int

    @property
    def follows(self) -> bool:
        """Whether everything the pack shows stands in the chain as it was."""
        return self.head_stands and not self.missing_count

    @property
    def in_words(self) -> str:
        """Return the same in a few sentences."""
        if not self.head_stands:
            return "The ledger no longer holds the entry that the pack ends at: it does not follow."
        if self.missing_count:
            named = ", ".join(self.missing)
            return (
                f"{self.missing_count} of {self.checked} records it shows no longer stand in the "
                f"ledger as they were: {named}."
            )
        said = f"All {self.checked} records it shows stand in the ledger as they were."
        if self.amended_since:
            said += f" {self.amended_since} of them were amended later, which the ledger shows."
        return said


def gather(
    chain: Chain, subjects: Iterable[str], *, venue: str, first: date, last: date
) -> Evidence:
    """Name the newest entry of each record a pack shows, up to the head of its chain."""
    entries: dict[str, tuple[int, str]] = {}
    for some in _chunks(dict.fromkeys(subjects)):
        found = Entry.objects.filter(
            chain=chain, subject__in=some, sequence__lte=chain.head_sequence
        ).order_by("sequence")
        for subject, sequence, digest in found.values_list("subject", "sequence", "hash"):
            entries[subject] = (sequence, digest)
    return Evidence(
        chain=chain.key,
        head_sequence=chain.head_sequence,
        head_hash=chain.head_hash,
        venue=venue,
        first=first,
        last=last,
        entries=dict(sorted(entries.items())),
    )


def compare(evidence: Evidence) -> Following:
    """Look up everything the evidence names in the chain as it stands, recomputing each hash."""
    head = Entry.objects.filter(chain=evidence.chain, sequence=evidence.head_sequence).first()
    missing: list[str] = []
    amended = 0
    for some in _chunks(evidence.entries):
        stand = {
            entry.sequence: entry
            for entry in Entry.objects.filter(
                chain=evidence.chain, sequence__in=[evidence.entries[each][0] for each in some]
            )
        }
        missing += [
            subject for subject in some if not _stands(subject, evidence.entries[subject], stand)
        ]
        later = Entry.objects.filter(
            chain=evidence.chain, subject__in=some, sequence__gt=evidence.head_sequence
        )
        amended += later.values("subject").distinct().count()
    return Following(
        head_stands=head is not None and head.hash == evidence.head_hash and text_still_fits(head),
        checked=len(evidence.entries),
        missing_count=len(missing),
        missing=tuple(missing[:_MOST_NAMED]),
        amended_since=amended,
    )


def _stands(subject: str, named: tuple[int, str], stand: dict[int, Entry]) -> bool:
    sequence, digest = named
    entry = stand.get(sequence)
    return (
        entry is not None
        and (entry.subject, entry.hash) == (subject, digest)
        and text_still_fits(entry)
    )


def _chunks(subjects: Iterable[str]) -> Iterator[list[str]]:
    waiting = iter(subjects)
    while some := list(islice(waiting, _AT_ONCE)):
        yield some
