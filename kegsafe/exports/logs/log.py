"""What a log is: its columns, and its rows page by page, however long it has become."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from kegsafe.venues.access import EVERYBODY
from kegsafe.venues.models import Role, Venue

ROWS_AT_ONCE = 1_000

Value = str | int | Decimal | bool | date | datetime | None
Row = Sequence[Value]


def _as_it_is(value: Any) -> Any:
    return value


@dataclass(frozen=True, slots=True)
class Column:
    """One column. A moment is written twice: in the venue's time with its offset, and in UTC.

    key : its name in JSON, with the unit; head : the same for people
    path : where a row of the database has it, the key if empty; read : what is shown of that
    """

    key: str
    head: str
    path: str = ""
    read: Callable[[Any], Value] = _as_it_is
    is_moment: bool = False

    @property
    def lookup(self) -> str:
        return self.path or self.key


def moment(key: str, head: str, path: str = "") -> Column:
    """Return a column of moments."""
    return Column(key, head, path, is_moment=True)


def words(key: str, head: str, choices: Sequence[tuple[Any, Any]], path: str = "") -> Column:
    """Return a column that says in words what is stored as a sign."""
    meanings = {sign: str(meaning) for sign, meaning in choices}
    return Column(key, head, path, lambda sign: meanings.get(sign, sign))


def bar(key: str, head: str, path: str) -> Column:
    """Return a column of gauge pressures in bar, stored in Pa."""
    return Column(key, head, path, lambda pa: None if pa is None else Decimal(pa).scaleb(-5))


def listed(key: str, head: str, path: str = "") -> Column:
    """Return a column of what is stored as a list."""
    return Column(key, head, path, lambda values: "; ".join(map(str, values or ())))


@dataclass(frozen=True, slots=True)
class Period:
    """From one moment until before another; None where it has no end on that side."""

    since: datetime | None = None
    until: datetime | None = None

    def narrows(self, field: str, of: Callable[[datetime], Any] = _as_it_is) -> dict[str, Any]:
        """Return the conditions on a field; `of` turns a moment into what the field stores."""
        found = {f"{field}__gte": self.since, f"{field}__lt": self.until}
        return {condition: of(at) for condition, at in found.items() if at is not None}


@dataclass(frozen=True, slots=True)
class Log:
    """One log. `rows` yields them in the order in which they were recorded.

    is_dated : a period narrows it; otherwise it is a list as it stands now
    read : who may take it away
    """

    key: str
    title: str
    holds: str
    columns: tuple[Column, ...]
    rows: Callable[[Venue, Period], Iterator[Row]]
    is_dated: bool = True
    read: frozenset[Role] = EVERYBODY


def recorded(
    of: Callable[[Venue], QuerySet], columns: tuple[Column, ...], *, at: str = ""
) -> Callable[[Venue, Period], Iterator[Row]]:
    """Return the rows of a log that lies in the database as it is shown.

    of : the venue's rows; at : the field that a period narrows
    """

    def rows(venue: Venue, period: Period) -> Iterator[Row]:
        found = of(venue)
        yield from in_pages(found.filter(**period.narrows(at)) if at else found, columns)

    return rows


def in_pages(rows: QuerySet, columns: tuple[Column, ...], *, by: str = "pk") -> Iterator[Row]:
    """Yield rows by their columns, a page at a time from where the last one ended.

    No query is open while somebody with a slow line takes what was read. `by` rises from row to
    row and is indexed.
    """
    lookups = [column.lookup for column in columns]
    last: Any = None
    while True:
        page = rows if last is None else rows.filter(**{f"{by}__gt": last})
        found = list(page.order_by(by).values_list(by, *lookups)[:ROWS_AT_ONCE])
        for _, *values in found:
            yield [column.read(value) for column, value in zip(columns, values, strict=True)]
        if len(found) < ROWS_AT_ONCE:
            return
        last = found[-1][0]


def by_name(row: Mapping[str, Value], columns: tuple[Column, ...]) -> Row:
    """Return a row that was worked out, in the order of the columns."""
    return [row[column.key] for column in columns]
