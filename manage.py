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

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
