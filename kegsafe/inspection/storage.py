"""Where packs lie: in the data folder, outside of everything a web server hands out."""

import os
from contextlib import suppress
from hashlib import file_digest
from pathlib import Path

from django.conf import settings

from kegsafe.inspection.models import InspectionPack

PDF, ROWS = ".pdf", ".zip"
_UNFINISHED = ".part"
_LEFT_BEHIND_S = 3600


def path_of(pack: InspectionPack, ending: str) -> Path:
    """Return where a file of a pack lies; `ending` is `PDF` or `ROWS`."""
    return _folder() / f"{pack.stored_as}{ending}"


def unfinished(stored_as: str, ending: str) -> Path:
    """Return where a file is written until it is whole; what was left there is gone."""
    path = _folder() / f"{stored_as}{ending}{_UNFINISHED}"
    path.unlink(missing_ok=True)
    return path


def sweep(now: float) -> None:
    """Take away what a process that died left unfinished an hour ago or longer.

    now : seconds of the epoch
    """
    for path in _folder().glob(f"*{_UNFINISHED}"):
        with suppress(FileNotFoundError):
            if now - path.stat().st_mtime > _LEFT_BEHIND_S:
                path.unlink()


def keep(path: Path) -> Path:
    """Let a whole file have its name, once it is safe on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    path.chmod(0o600)
    return path.replace(path.with_suffix(""))


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, in lower-case hex."""
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def _folder() -> Path:
    folder = settings.DATA_DIR / "packs"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder
