"""Take a venue in at a database that was just made, and tell what stands there.

Run as a process of its own: `python -m tests.exports.a_new_house MOMENT FILE...` with
KEGSAFE_DATA or DATABASE_URL naming the new place. Prints one JSON object.
"""

import json
import os
import sys
from datetime import datetime
from io import StringIO

import django


def main(moment: str, *files: str) -> None:
    """Make the tables, import each file, and print what is there at a moment."""
    from django.core.management import call_command

    said = StringIO()
    call_command("migrate", verbosity=0)
    for file in files:
        call_command("import_venue", file, stdout=said)
    call_command("verify_ledger", stdout=said)
    from tests.exports.standing import standing_of_all

    there = standing_of_all(datetime.fromisoformat(moment))
    print(json.dumps({"said": said.getvalue(), "venues": there}))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kegsafe.settings")
    django.setup()
    main(*sys.argv[1:])
