#!/usr/bin/env python3
"""The one command of kegsafe: `demo`, `serve`, `test`, and every Django command."""

import os
import sys
from pathlib import Path

HOME = Path(__file__).resolve().parent
sys.path.insert(0, str(HOME))


def main() -> None:
    """Set the machine up if it needs it, then do what was asked."""
    from kegsafe import provisioning

    provisioning.prepare(HOME, sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kegsafe.settings")
    from django.core.management import execute_from_command_line
    from django.db.utils import OperationalError, ProgrammingError

    try:
        execute_from_command_line(sys.argv)
    except (OperationalError, ProgrammingError) as error:
        if not provisioning.is_about_a_missing_table(str(error)):
            raise
        sys.exit(provisioning.NO_RECORDS_YET)
    except BrokenPipeError:
        # The reader, such as `head`, has seen enough: that is no fault of anybody's.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    main()
