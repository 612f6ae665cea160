"""Collecting what the pages load: hashed and compressed once, and again when a file changed."""

import hashlib
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command


def collect_static_files() -> bool:
    """Collect the static files into STATIC_ROOT, and say whether there was anything to do.

    Compressing takes seconds, which every start would spend. A stamp beside
    the folder remembers what was collected; it is written last, so that an
    interrupted collection is done again.
    """
    collected, found = Path(settings.STATIC_ROOT), _fingerprint()
    stamp = collected.with_name(f"{collected.name}.stamp")
    if collected.is_dir() and stamp.exists() and stamp.read_text(encoding="ascii") == found:
        return False
    call_command("collectstatic", interactive=False, verbosity=0)
    stamp.write_text(found, encoding="ascii")
    return True


def _fingerprint() -> str:
    """Return a hash of every static file's name, place, size and time of change."""
    digest = hashlib.sha256(settings.STORAGES["staticfiles"]["BACKEND"].encode())
    for finder in get_finders():
        for name, storage in finder.list([]):
            file = Path(storage.path(name))
            stat = file.stat()
            digest.update(f"{name} {file} {stat.st_size} {stat.st_mtime_ns}\n".encode())
    return digest.hexdigest()
