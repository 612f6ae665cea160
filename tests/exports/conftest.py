"""A small bar that has packed its things, and an empty house to move into."""

from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path
from shutil import copy

import pytest
from django.conf import settings
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, transaction

from kegsafe.exports.moving.belongings import belongings
from kegsafe.frame.documents import NewDocument, stored_path
from kegsafe.ledger import append_only
from kegsafe.pressure import services as pressure
from kegsafe.pressure.models import Document
from kegsafe.venues.models import Role, Venue
from tests.builders import a_fill, a_person, a_recorder, a_venue

PAPER = b"%PDF-1.4\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"


def a_bar() -> Venue:
    """Return a bar with a filled keg, a member of staff and a paper about the keg."""
    venue = a_venue(name="The Copper Finch")
    a_person(venue, Role.STAFF, name="petra")
    fill = a_fill(venue)
    pressure.keep_document(
        venue=venue,
        keg=fill.keg,
        kind="certificate",
        sent=NewDocument("plate.pdf", PAPER),
        by=a_recorder(venue),
    )
    return venue


@pytest.fixture
def bar(db) -> Venue:
    return a_bar()


@pytest.fixture(scope="session")
def packed_once(django_db_setup, django_db_blocker, tmp_path_factory) -> Path:
    """A bar's file, of which nothing else is left: the database is as new."""
    out = tmp_path_factory.mktemp("packed") / "bar.zip"
    with django_db_blocker.unblock(), transaction.atomic():
        venue = a_bar()
        call_command("export_venue", venue.name, str(out), stdout=StringIO())
        _take_documents_away()
        transaction.set_rollback(True)
    return out


@pytest.fixture
def packed(packed_once, tmp_path, db) -> Iterator[Path]:
    """A copy of the bar's file, and an empty house."""
    folder = settings.DATA_DIR / "documents"
    before = set(folder.iterdir()) if folder.is_dir() else set()
    yield Path(copy(packed_once, tmp_path / "bar.zip"))
    # What a test took in is undone with its transaction, the documents' bytes are not.
    for path in set(folder.iterdir()) - before if folder.is_dir() else ():
        path.unlink()


@pytest.fixture
def emptied(db) -> Callable[[], None]:
    """What empties the house past the ledger's guard: as on a new machine, keys begin at 1."""

    def empty() -> None:
        _take_documents_away()
        tables = [belonging.model._meta.db_table for belonging in belongings()]
        connection.check_constraints()  # PostgreSQL empties no table while a check is pending
        append_only.remove(connection)
        with connection.cursor() as cursor:
            for statement in connection.ops.sql_flush(
                no_style(), tables, reset_sequences=True, allow_cascade=True
            ):
                cursor.execute(statement)
        append_only.install(connection)

    return empty


def rows_in_the_house() -> int:
    """Count every row of every model that moves."""
    return sum(belonging.model._base_manager.count() for belonging in belongings())


def _take_documents_away() -> None:
    for document in Document.objects.all():
        stored_path(document).unlink(missing_ok=True)
