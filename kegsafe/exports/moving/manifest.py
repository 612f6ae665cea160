"""The first page of the file a venue moves in: what is inside, and what it must come to."""

import json
import re
from dataclasses import asdict, dataclass
from typing import Any

FORMAT = "kegsafe venue"
VERSION = 1
NAME = "manifest.json"
_SHA256 = re.compile("[0-9a-f]{64}")


class CannotMoveIn(Exception):
    """The file is not taken in; the message says why, and nothing of it was stored."""


@dataclass(frozen=True, slots=True)
class Member:
    """One file inside. `columns` and `rows` are of records; another file has none of either."""

    name: str
    size: int
    sha256: str
    model: str = ""
    columns: tuple[str, ...] = ()
    rows: int = 0


@dataclass(frozen=True, slots=True)
class Manifest:
    """What the file holds. `head` is the hash of the last of `entries` entries of the ledger.

    `missing` are the kept files whose bytes were not in the data folder when it was packed.
    """

    venue: str
    made_at: str
    chain: str
    entries: int
    head: str
    members: tuple[Member, ...]
    missing: tuple[str, ...] = ()

    def as_json(self) -> str:
        """Return the manifest as it is written."""
        head = {"format": FORMAT, "version": VERSION}
        return json.dumps(head | asdict(self), indent=1, ensure_ascii=True)


def read_manifest(text: bytes) -> Manifest:
    """Return a manifest that says all it must.

    Raises CannotMoveIn for another format or version, and for anything that is not as it should
    be, by name.
    """
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        raise CannotMoveIn(f"{NAME} is not JSON.") from None
    if not isinstance(said, dict) or said.get("format") != FORMAT:
        raise CannotMoveIn(f'{NAME} does not say that this is a "{FORMAT}" file.')
    if said.get("version") != VERSION:
        raise CannotMoveIn(
            f"The file is of version {said.get('version')!r:.20}; this program reads version "
            f"{VERSION}. Import it with the program that made it, or a newer one."
        )
    members = _wanted(said, "members", list)
    return Manifest(
        venue=_wanted(said, "venue", str),
        made_at=_wanted(said, "made_at", str),
        chain=_wanted(said, "chain", str),
        entries=_wanted(said, "entries", int),
        head=_sha256(said, "head"),
        members=tuple(_member(each) for each in members),
        missing=_texts(said, "missing"),
    )


def _member(said: Any) -> Member:
    if not isinstance(said, dict):
        raise CannotMoveIn(f"{NAME}: a member is {said!r:.60}, which is no object.")
    return Member(
        name=_wanted(said, "name", str),
        size=_wanted(said, "size", int),
        sha256=_sha256(said, "sha256"),
        model=_wanted(said, "model", str),
        columns=_texts(said, "columns"),
        rows=_wanted(said, "rows", int),
    )


def _wanted(said: dict[str, Any], name: str, kind: type) -> Any:
    value = said.get(name)
    is_right = isinstance(value, kind) and not isinstance(value, bool)
    if not is_right or (kind is int and value < 0):
        raise CannotMoveIn(f'{NAME}: "{name}" is {value!r:.60}, which cannot be.')
    return value


def _sha256(said: dict[str, Any], name: str) -> str:
    value = _wanted(said, name, str)
    if not _SHA256.fullmatch(value):
        raise CannotMoveIn(f'{NAME}: "{name}" is {value!r:.60}, which is no SHA-256.')
    return value


def _texts(said: dict[str, Any], name: str) -> tuple[str, ...]:
    values = _wanted(said, name, list)
    if not all(isinstance(value, str) for value in values):
        raise CannotMoveIn(f'{NAME}: "{name}" holds something that is no text.')
    return tuple(values)
