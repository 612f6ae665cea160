"""Queries whose SQL is worked out once, for the page that is opened dozens of times a night.

Django builds a query anew each time it is asked for. For one that joins ten
tables this takes ten times as long as the database needs to answer it. A
prepared query is written with the ORM as any other, is compiled at its first
call, and from then on is the same SQL with other values.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import update_wrapper
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import Expression, QuerySet
from django.db.models.sql.compiler import SQLCompiler

Row = dict[str, Any]


class Blank(Expression):
    """Where a value of the call goes: the place-th of those given under a name."""

    def __init__(self, name: str, place: int) -> None:
        super().__init__()
        self.name, self.place = name, place

    def as_sql(self, compiler: SQLCompiler, connection: Any) -> tuple[str, list[Any]]:
        return "%s", [self]


@dataclass(frozen=True, slots=True)
class _Compiled:
    sql: str
    parameters: tuple[Any, ...]
    columns: tuple[str, ...]
    compiler: SQLCompiler
    converters: Mapping[int, Any]

    @classmethod
    def of(cls, queryset: QuerySet[Any, Any]) -> "_Compiled | None":
        """Compile a query of values; None when it can match nothing."""
        compiler = queryset.query.get_compiler(connection=connection)
        try:
            sql, parameters = compiler.as_sql()
        except EmptyResultSet:
            return None
        expressions = [selected[0] for selected in compiler.select[: compiler.col_count]]
        return cls(
            sql,
            tuple(parameters),
            tuple(queryset.query.selected),
            compiler,
            compiler.get_converters(expressions),
        )

    def rows(self, values: Mapping[str, list[Any]]) -> list[Row]:
        filled = [
            values[each.name][each.place] if isinstance(each, Blank) else each
            for each in self.parameters
        ]
        with connection.cursor() as cursor:
            cursor.execute(self.sql, filled)
            rows = cursor.fetchall()
        converted = self.compiler.apply_converters(rows, self.converters)
        return [dict(zip(self.columns, row, strict=True)) for row in converted]


class Prepared:
    """A function that builds a query of values from lists of blanks; its SQL is kept.

    Called by keyword with values for each list, it returns the rows. A list
    stands for a set, as in `pk__in`: it is filled up to 1, 2, 4, 8, ... values by
    repeating one, so that few versions of the SQL serve lists of every length.
    """

    def __init__(self, build: Callable[..., QuerySet[Any, Any]]) -> None:
        update_wrapper(self, build)
        self.build = build
        self.compiled: dict[tuple[object, ...], _Compiled | None] = {}

    def __call__(self, **values: Iterable[int | str]) -> list[Row]:
        lists = {name: _filled_up(sorted(given)) for name, given in values.items()}
        shape = (connection.vendor, *((name, len(given)) for name, given in lists.items()))
        if shape not in self.compiled:
            self.compiled[shape] = _Compiled.of(self.build(**_blanks(lists)))
        compiled = self.compiled[shape]
        return compiled.rows(lists) if compiled else []


def _filled_up(values: list[Any]) -> list[Any]:
    if not values:
        return values
    length = 1 << (len(values) - 1).bit_length()
    return values + values[-1:] * (length - len(values))


def _blanks(lists: Mapping[str, list[Any]]) -> dict[str, list[Blank]]:
    return {name: [Blank(name, n) for n in range(len(given))] for name, given in lists.items()}
