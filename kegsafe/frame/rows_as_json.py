"""The rows of another table as one column, for a page that may ask only so many questions."""

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
