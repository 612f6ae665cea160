"""The least that a page showing the same rows can cost: no model, no rule, no template.

Its statements are the pour check's own, taken down while that page was fetched
once, so both read the same rows. It passes the same middleware and the same guard.
"""

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import Any

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.utils.html import escape
from django.views.decorators.http import require_safe

from kegsafe.venues.access import page

Statement = tuple[str, Sequence[Any]]

STATEMENTS: list[Statement] = []


@require_safe
@page()
def lean_pour_check(request: HttpRequest, label_code: str) -> HttpResponse:
    """Read the rows of a pour check and show them, joined with spaces."""
    with connection.cursor() as cursor:
        rows = [row for sql, values in STATEMENTS for row in _rows(cursor, sql, values)]
    lines = (" ".join(map(str, row)) for row in rows)
    return HttpResponse(f"<title>{escape(label_code)}</title>{escape('<br>'.join(lines))}")


def take_down_statements(fetch: Callable[[], object], *, first: int) -> None:
    """Keep the statements that `fetch` sends, from the first-th on, for the lean page."""
    STATEMENTS.clear()
    with _taking_down():
        fetch()
    del STATEMENTS[:first]


def _taking_down() -> AbstractContextManager[None]:
    def note(execute: Callable[..., Any], sql: str, values: Any, many: bool, context: Any) -> Any:
        STATEMENTS.append((sql, tuple(values)))
        return execute(sql, values, many, context)

    return connection.execute_wrapper(note)


def _rows(cursor: Any, sql: str, values: Sequence[Any]) -> list[tuple[Any, ...]]:
    cursor.execute(sql, values)
    return cursor.fetchall()
