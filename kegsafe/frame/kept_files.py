"""Files that a record keeps in the data folder: where each lies and what its bytes come to."""

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings


@dataclass(frozen=True, slots=True)
class KeptFile:
    """One file of a record. Folder and name are ours; nothing a person typed is part of them.

    folder : within the data folder; size : bytes; sha256 : hex
    """

    folder: str
    name: str
    size: int
    sha256: str

    @property
    def path(self) -> Path:
        """Return where the bytes lie."""
        return settings.DATA_DIR / self.folder / self.name


class KeepsFiles:
    """Beside `Model` among the bases of a model whose rows keep files outside the database.

    Whoever moves or checks a venue finds the files by this, in every room.
    """

    def kept_files(self) -> tuple[KeptFile, ...]:
        """Return the files this row keeps."""
        raise NotImplementedError


def write_new(path: Path, blocks: Iterable[bytes]) -> None:
    """Write a file that must not be there yet, safe on the disk and readable by us alone.

    Raises FileExistsError. What was begun and failed is taken away.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            for block in blocks:
                file.write(block)
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        path.unlink(missing_ok=True)
        raise
