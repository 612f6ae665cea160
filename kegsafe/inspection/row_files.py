"""The rows of a pack as files, one for each table, in a ZIP that is written as they come."""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from shutil import copyfileobj
from typing import IO, BinaryIO, Self

from kegsafe.frame.sheet_cells import csv_text

PACK_NAME = "inspection-pack.pdf"
_INDEX = "index.csv"
_INDEX_COLUMNS = ("File", "What", "Rows", "SHA-256")
# The mark by which spreadsheet programs know that a file is UTF-8.
_ENCODING = "utf-8-sig"


@dataclass(frozen=True, slots=True)
class _Listed:
    name: str
    what: str
    rows: int
    sha256: str


class RowFiles:
    """A ZIP with a CSV file for each table; the same rows give the same bytes."""

    def __init__(self, out: BinaryIO, made_at: datetime) -> None:
        self._zip = zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED)
        self._made_at = made_at
        self._listed: list[_Listed] = []

    def copied(
        self, name: str, what: str, columns: Sequence[str], rows: Iterable[Sequence[str]]
    ) -> Iterator[None]:
        """Write each row into a file of its own; yields as often, for the reader to go on."""
        with self._entry(f"{name}.csv") as raw:
            counted = _Counted(raw)
            text = io.TextIOWrapper(counted, encoding=_ENCODING, newline="", write_through=True)
            writer = csv.writer(text)
            writer.writerow(map(csv_text, columns))
            number = 0
            for row in rows:
                writer.writerow(map(csv_text, row))
                number += 1
                yield
            text.flush()
            text.detach()
        self._listed.append(_Listed(f"{name}.csv", what, number, counted.digest.hexdigest()))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()

    def add_pack(self, pack: Path) -> None:
        """Put the pack itself beside its rows, and the index that lists everything."""
        with pack.open("rb") as source, self._entry(PACK_NAME) as raw:
            counted = _Counted(raw)
            copyfileobj(source, counted)
        listed = [_Listed(PACK_NAME, "The pack", 0, counted.digest.hexdigest()), *self._listed]
        index = io.StringIO(newline="")
        writer = csv.writer(index)
        writer.writerow(_INDEX_COLUMNS)
        for each in listed:
            rows = str(each.rows) if each.name != PACK_NAME else ""
            writer.writerow(map(csv_text, (each.name, each.what, rows, each.sha256)))
        with self._entry(_INDEX) as raw:
            raw.write(index.getvalue().encode(_ENCODING))

    @contextmanager
    def _entry(self, name: str) -> Iterator[IO[bytes]]:
        info = zipfile.ZipInfo(name, self._made_at.timetuple()[:6])
        info.compress_type = zipfile.ZIP_DEFLATED
        info.external_attr = 0o600 << 16
        with self._zip.open(info, "w") as raw:
            yield raw


class _Counted(io.RawIOBase):
    """Bytes on their way into a file, with what they amount to."""

    def __init__(self, raw: IO[bytes]) -> None:
        self._raw = raw
        self.digest = sha256()

    def writable(self) -> bool:
        return True

    def write(self, content: bytes) -> int:
        self.digest.update(content)
        self._raw.write(content)
        return len(content)
