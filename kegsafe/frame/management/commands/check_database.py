"""`python3 manage.py check_database`: is the database whole, and set up to stay so?"""

import sqlite3
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connection

from kegsafe.frame.checks import sqlite_doubt

SQLITE_SYNCHRONOUS = {0: "off", 1: "normal", 2: "full", 3: "extra"}


class Command(BaseCommand):
    """Report how the database keeps its promise, and fail when it does not."""

    help = "Check that the database file is whole and that a committed record survives a power cut."
    requires_system_checks = ()

    def handle(self, *_args: object, **_options: object) -> None:
        """Print what was found; raise CommandError on anything that puts records at risk."""
        try:
            faults = self._sqlite() if connection.vendor == "sqlite" else self._postgresql()
        except DatabaseError as error:
            raise CommandError(f"The database cannot be read: {error}") from error
        if faults:
            raise CommandError("\n".join(faults))
        self.stdout.write("Nothing found that puts records at risk.")

    def _sqlite(self) -> list[str]:
        self._line("engine", f"SQLite {sqlite3.sqlite_version}")
        if doubt := sqlite_doubt():
            self.stdout.write(f"Warning: {doubt}")
        self._line("file", str(Path(connection.settings_dict["NAME"])))
        synchronous = SQLITE_SYNCHRONOUS[self._ask("PRAGMA synchronous")]
        return [
            *self._expect("journal mode", self._ask("PRAGMA journal_mode"), "wal"),
            *self._expect("synchronous", synchronous, "full"),
            *self._expect(
                "foreign keys", "on" if self._ask("PRAGMA foreign_keys") else "off", "on"
            ),
            *self._expect("quick check", self._ask("PRAGMA quick_check(1)"), "ok"),
            *self._expect("broken references", self._count("PRAGMA foreign_key_check"), "0"),
        ]

    def _postgresql(self) -> list[str]:
        self._line("engine", f"PostgreSQL {self._ask('SHOW server_version')}")
        self.stdout.write(
            "Looked at: whether the server writes through to disk and knows its pages by checksum. "
            "Whether its files are whole is for the server's own pg_amcheck and your backups."
        )
        self._line("data checksums", str(self._ask("SHOW data_checksums")))
        return [
            *self._expect("fsync", self._ask("SHOW fsync"), "on"),
            *self._expect("full page writes", self._ask("SHOW full_page_writes"), "on"),
            *self._expect("synchronous commit", self._ask("SHOW synchronous_commit"), "on"),
        ]

    def _expect(self, name: str, found: object, wanted: str) -> list[str]:
        self._line(name, str(found))
        return [] if found == wanted else [f'{name} is "{found}" and should be "{wanted}".']

    def _line(self, name: str, value: str) -> None:
        self.stdout.write(f"{name + ':':<20}{value}")

    def _ask(self, statement: str) -> object:
        with connection.cursor() as cursor:
            cursor.execute(statement)
            return cursor.fetchone()[0]

    def _count(self, statement: str) -> str:
        with connection.cursor() as cursor:
            cursor.execute(statement)
            return str(len(cursor.fetchall()))
