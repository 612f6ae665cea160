"""Databases and a site to measure on that are gone afterwards: the records are never touched."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from django.core.management import call_command
from django.db import ConnectionHandler, connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test.utils import override_settings

HOST = "benchmark.invalid"


class Site:
    """A site on SQLite files of its own, in a folder that goes away."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.files: list[BaseDatabaseWrapper] = []

    def new_file(self, name: str) -> BaseDatabaseWrapper:
        """Make a database file and go on in it."""
        database = {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": self.folder / f"{name}.sqlite3",
            "OPTIONS": settings.SQLITE_OPTIONS,
        }
        self.files.append(ConnectionHandler({"default": database})["default"])
        self.go_on_in(self.files[-1])
        return self.files[-1]

    def copy(self, name: str) -> BaseDatabaseWrapper:
        """Copy the file in use and go on in the copy."""
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(self.folder / f"{name}.sqlite3")])
        return self.new_file(name)

    @staticmethod
    def go_on_in(file: BaseDatabaseWrapper) -> None:
        """Let every query from now on go to this file."""
        connections["default"] = file

    def close(self) -> None:
        """Close every file."""
        for file in self.files:
            file.close()


@contextmanager
def throw_away_site() -> Iterator[Site]:
    """Put a fresh database in the place of the real one; settings as a bar in service has them."""
    real = connections["default"]
    with TemporaryDirectory(prefix="kegsafe-benchmark-") as folder:
        site = Site(Path(folder))
        try:
            with override_settings(
                DEBUG=False, ALLOWED_HOSTS=[HOST], STATIC_ROOT=Path(folder) / "static"
            ):
                site.new_file("benchmark")
                call_command("migrate", verbosity=0)
                call_command("collectstatic", verbosity=0, interactive=False)
                yield site
        finally:
            site.close()
            connections["default"] = real
