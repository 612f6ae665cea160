"""A ledger that somebody with the keys to the database has got at."""

from collections.abc import Iterator

import pytest
from django.db import connection

from kegsafe.ledger import append_only


@pytest.fixture
def unlocked(db) -> Iterator[None]:
    """Take the triggers away, as somebody would who means to change history."""
    append_only.remove(connection)
    yield
    append_only.install(connection)
