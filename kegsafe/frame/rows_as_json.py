"""The rows of another table as one column, for a page that may ask only so many questions."""

from datetime import UTC, datetime
from typing import Any

from django.db.models import Aggregate, JSONField
from django.db.models.sql.compiler import SQLCompiler

Sql = tuple[str, list[Any]]


class RowsAsJson(Aggregate):
    """Gathers rows into a JSON list of lists, in no order; nothing where there is no row.

    Dates and moments come as the database writes them, and decimals as JSON numbers.
    """

    allow_distinct = False
    output_field = JSONField()

    def as_sqlite(self, compiler: SQLCompiler, connection: Any, **context: Any) -> Sql:
        return self.as_sql(
            compiler,
            connection,
            template="JSON_GROUP_ARRAY(JSON_ARRAY(%(expressions)s))",
            **context,
        )

    def as_postgresql(self, compiler: SQLCompiler, connection: Any, **context: Any) -> Sql:
        return self.as_sql(
            compiler,
            connection,
            template="JSONB_AGG(JSONB_BUILD_ARRAY(%(expressions)s))",
            **context,
        )


def stored_moment(text: str) -> datetime:
    """Read a moment of such a row as SQLite (UTC, unsaid) or PostgreSQL writes it.

    >>> stored_moment("2026-04-10 18:00:00").isoformat()
    '2026-04-10T18:00:00+00:00'
    """
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
