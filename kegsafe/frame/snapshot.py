"""Reading a whole record as it stood at one moment, while others go on writing."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def as_of_now() -> Iterator[None]:
    """Let everything that is read inside see the record of one moment, and hold up no writer.

    On SQLite a deferred transaction reads from the write-ahead log as it was at its first query;
    the site's own transactions begin as writers, which would keep everybody else waiting. On
    PostgreSQL repeatable read does the same. Inside a transaction nothing is changed.
    """
    if connection.in_atomic_block:
        yield
        return
    connection.ensure_connection()
    if connection.vendor == "sqlite":
        usual, connection.transaction_mode = connection.transaction_mode, "DEFERRED"
        try:
            with transaction.atomic():
                yield
        finally:
            connection.transaction_mode = usual
        return
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        yield
