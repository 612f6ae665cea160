"""Set up what kegsafe needs beside manage.py, with the standard library alone."""

from pathlib import Path


def prepare(home: Path, arguments: list[str]) -> None:
    """Make the environment and go on inside it; nothing to do inside one."""
