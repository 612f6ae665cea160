"""Triggers that make the database itself refuse to change or remove an entry."""

from collections.abc import Mapping

from django.db.backends.base.base import BaseDatabaseWrapper

_INSTALL = {
    "sqlite": (
        """CREATE TRIGGER ledger_entry_no_update BEFORE UPDATE ON ledger_entry BEGIN
        SELECT RAISE(ABORT, 'ledger entries are append-only: amend with a new entry'); END""",
        """CREATE TRIGGER ledger_entry_no_delete BEFORE DELETE ON ledger_entry BEGIN
        SELECT RAISE(ABORT, 'ledger entries are append-only: nothing is removed'); END""",
    ),
    "postgresql": (
        """CREATE OR REPLACE FUNCTION ledger_entry_append_only() RETURNS trigger
        LANGUAGE plpgsql AS $$ BEGIN
        RAISE EXCEPTION 'ledger entries are append-only: amend with a new entry'; END $$""",
        """CREATE TRIGGER ledger_entry_no_update BEFORE UPDATE OR DELETE ON ledger_entry
        FOR EACH ROW EXECUTE FUNCTION ledger_entry_append_only()""",
        """CREATE TRIGGER ledger_entry_no_truncate BEFORE TRUNCATE ON ledger_entry
        FOR EACH STATEMENT EXECUTE FUNCTION ledger_entry_append_only()""",
    ),
}
_REMOVE = {
    "sqlite": (
        "DROP TRIGGER IF EXISTS ledger_entry_no_update",
        "DROP TRIGGER IF EXISTS ledger_entry_no_delete",
    ),
    "postgresql": (
        "DROP TRIGGER IF EXISTS ledger_entry_no_update ON ledger_entry",
        "DROP TRIGGER IF EXISTS ledger_entry_no_truncate ON ledger_entry",
        "DROP FUNCTION IF EXISTS ledger_entry_append_only()",
    ),
}


def install(connection: BaseDatabaseWrapper) -> None:
    """Create the triggers on the ledger's table."""
    _run(connection, _INSTALL)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Drop the triggers: for a reversed migration and for tests that empty their tables."""
    _run(connection, _REMOVE)


def _run(connection: BaseDatabaseWrapper, by_vendor: Mapping[str, tuple[str, ...]]) -> None:
    if connection.vendor not in by_vendor:
        raise NotImplementedError(
            f"The ledger cannot protect itself on {connection.vendor}; use SQLite or PostgreSQL."
        )
    with connection.cursor() as cursor:
        for statement in by_vendor[connection.vendor]:
            cursor.execute(statement)
