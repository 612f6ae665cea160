"""A bar that imports a logger's file in a process of its own, to be killed.

Started as `python -m tests.cold_chain.importing_process FILE`, with DATABASE_URL naming its file.
It prints a line after each piece of the file that went in, and at the end
"done" with the most memory it took, in MB.
"""

import os
import resource
import sys
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.core.management import call_command  # noqa: E402

from kegsafe.cold_chain.log_file import sniff  # noqa: E402
from kegsafe.cold_chain.services import import_log  # noqa: E402
from kegsafe.equipment.models import Place  # noqa: E402
from tests.builders import a_place, a_recorder, a_venue  # noqa: E402


def main(path: Path) -> None:
    call_command("migrate", verbosity=0)
    place = Place.objects.select_related("venue").first() or a_place(a_venue())
    with path.open("rb") as stream:
        import_log(
            place=place,
            stream=stream,
            name=path.name,
            shape=sniff(path.read_bytes()[:10_000]).shape,
            by=a_recorder(place.venue),
            progress=lambda read: print("read", read, flush=True),
        )
    print("done", most_mb(), flush=True)


def most_mb() -> int:
    """Return the most memory of this process; the system's own count begins with its parent's."""
    status = Path("/proc/self/status")
    if status.exists():
        [line] = [each for each in status.read_text().splitlines() if each.startswith("VmHWM")]
        return int(line.split()[1]) // 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


if __name__ == "__main__":
    main(Path(sys.argv[1]))
