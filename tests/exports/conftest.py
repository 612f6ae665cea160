"""A small bar that has packed its things, and an empty house to move into."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection

from kegsafe.exports.moving.belongings import belongings
from kegsafe.frame.documents import NewDocument, stored_path
from kegsafe.ledger import append_only
from kegsafe.pressure import services as pressure
from kegsafe.pressure.models import Document
from kegsafe.venues.models import Role, Venue
from tests.builders import a_fill, a_person, a_recorder, a_venue

PAPER = b"%PDF-1.4\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"
MONDAY = datetime(2026, 4, 13, 8, 0, tzinfo=UTC)


@pytest.fixture
def bar(db) -> Venue:
    """A bar with a filled keg, a member of staff and a paper about the keg."""
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
def emptied(db) -> Callable[[], None]:
    """What empties the house past the ledger's guard: as on a new machine, keys begin at 1."""

    def empty() -> None:
        for document in Document.objects.all():
            stored_path(document).unlink(missing_ok=True)
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


@pytest.fixture
def packed(bar, emptied, tmp_path):
    """The bar's file, and nothing of the bar left."""
    out = tmp_path / "bar.zip"
    call_command("export_venue", bar.name, str(out))
    emptied()
    return out


def rows_in_the_house() -> int:
    """Count every row of every model that moves."""
    return sum(belonging.model._base_manager.count() for belonging in belongings())
