"""Taking a venue in: all of its file or nothing.

Keys are kept. They are part of what the ledger hashed ("stock.lot:12"), so a record with another
key would be another record, and the chain would prove nothing about it. Therefore a venue moves
into an empty database, or beside venues that came from the same one; where a key is taken the
file is refused.
"""

from collections import defaultdict
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import User
from django.core.management.color import no_style
from django.db import DatabaseError, connection, models, transaction

from kegsafe.exports.moving.archive import Archive
from kegsafe.exports.moving.belongings import Belonging, belongings
from kegsafe.exports.moving.files_in import keep_files
from kegsafe.exports.moving.manifest import CannotMoveIn, Member
from kegsafe.exports.moving.proving import prove
from kegsafe.exports.moving.written_values import NotAValue, read_back
from kegsafe.ledger.models import Chain, Entry
from kegsafe.venues.models import Venue

_ROWS_AT_ONCE = 500
_TAKEN = (
    "Its key is part of what the ledger hashed and cannot be changed. Move into an empty database, "
    "or beside venues that came from the same one."
)


@dataclass(frozen=True, slots=True)
class Arrival:
    """What came in. `joined` are people who had an account here, who keep it and its password."""

    venue: Venue
    rows: int
    files: int
    missing: int
    entries: int
    head: str
    newcomers: tuple[str, ...]
    joined: tuple[str, ...]


@dataclass
class _Keys:
    """The keys that came in, and those that foreign keys name, by model."""

    came: dict[type[models.Model], set[Any]] = field(default_factory=lambda: defaultdict(set))
    named: dict[tuple[str, type[models.Model]], set[Any]] = field(
        default_factory=lambda: defaultdict(set)
    )
    joined: set[str] = field(default_factory=set)


def move_in(archive: Archive) -> Arrival:
    """Store all that the file holds, with the ledger as it was, and prove it before it stays.

    No entry is added: the chain goes on where it stood. Raises CannotMoveIn; then nothing of it
    is kept, neither rows nor files.
    """
    members = _members(archive)
    # Files are taken away again by the stack when anything fails, the commit itself too.
    with _refusals_told(), ExitStack() as kept, transaction.atomic():
        keys = _Keys()
        for belonging in belongings():
            _store(archive, belonging, members[belonging.label], keys)
        _refuse_strangers(keys)
        venue = _the_venue(archive, keys)
        _refuse_what_is_not_of(venue, members)
        prove(venue, archive.manifest)
        files = keep_files(venue, archive, kept)
        _let_keys_count_on()
    people = set(User.objects.filter(pk__in=keys.came[User]).values_list("username", flat=True))
    return Arrival(
        venue=venue,
        rows=sum(member.rows for member in members.values()),
        files=files,
        missing=len(archive.manifest.missing),
        entries=archive.manifest.entries,
        head=archive.manifest.head,
        newcomers=tuple(sorted(people - keys.joined)),
        joined=tuple(sorted(keys.joined)),
    )


@contextmanager
def _refusals_told() -> Iterator[None]:
    try:
        yield
    except DatabaseError as refused:
        first_line = str(refused).partition("\n")[0]
        raise CannotMoveIn(f"The database refuses what is in the file: {first_line}.") from refused


def _members(archive: Archive) -> dict[str, Member]:
    """Return the members by model; refuse a file of a program with other records than this one."""
    members = {member.model: member for member in archive.manifest.members if member.model}
    ours = {belonging.label: belonging for belonging in belongings()}
    for label in sorted(members.keys() ^ ours.keys())[:1]:
        who = "this program" if label in members else "the file"
        raise CannotMoveIn(f"{label} is unknown to {who}. {_OTHER_PROGRAM}")
    for label, member in members.items():
        if member.columns != ours[label].columns:
            apart = sorted(set(member.columns) ^ set(ours[label].columns))
            raise CannotMoveIn(
                f"{label}: other columns ({', '.join(apart)[:80]}). {_OTHER_PROGRAM}"
            )
    return members


_OTHER_PROGRAM = (
    "The file was packed by another version of kegsafe: run the same version here, "
    "import it, and bring both up to date afterwards."
)


def _store(archive: Archive, belonging: Belonging, member: Member, keys: _Keys) -> None:
    rows = _read(archive, belonging, member)
    while chunk := list(islice(rows, _ROWS_AT_ONCE)):
        _take_keys(belonging, chunk, keys)
        if belonging.model is User:
            chunk = _newcomers(belonging, chunk, keys)
        else:
            _refuse_taken_keys(belonging, chunk)
        _insert(belonging, chunk)


def _read(archive: Archive, belonging: Belonging, member: Member) -> Iterator[tuple[Any, ...]]:
    fields = list(zip(belonging.fields, belonging.columns, strict=True))
    for number, row in enumerate(archive.records(member), 1):
        values = []
        for each, column in fields:
            try:
                values.append(read_back(each, row[column]))
            except NotAValue as wrong:
                where = f"{member.name}, line {number}, {column}"
                raise CannotMoveIn(f"{where}: {wrong}.") from None
        yield tuple(values)


def _take_keys(belonging: Belonging, chunk: list[tuple[Any, ...]], keys: _Keys) -> None:
    for place, target in belonging.references:
        named = keys.named[f"{belonging.label}.{belonging.columns[place]}", target]
        named.update(row[place] for row in chunk if row[place] is not None)
    place = _place_of_key(belonging)
    if place is not None:
        keys.came[belonging.model].update(row[place] for row in chunk)


def _place_of_key(belonging: Belonging) -> int | None:
    """Return where the key stands in a row; None for a key of two columns or none of its own."""
    key = belonging.model._meta.pk
    return belonging.fields.index(key) if key in belonging.fields else None


def _newcomers(
    belonging: Belonging, chunk: list[tuple[Any, ...]], keys: _Keys
) -> list[tuple[Any, ...]]:
    """Return the people who have no account here; who has one must be the very same."""
    at, called = belonging.columns.index("id"), belonging.columns.index("username")
    here = User.objects.filter(
        models.Q(pk__in=[row[at] for row in chunk])
        | models.Q(username__in=[row[called] for row in chunk])
    )
    known = dict(here.values_list("pk", "username"))
    by_name = {name: key for key, name in known.items()}
    new = []
    for row in chunk:
        key, name = row[at], row[called]
        if known.get(key) == name:
            keys.joined.add(name)
        elif key in known or name in by_name:
            raise CannotMoveIn(
                f'"{name}" (person {key}) is somebody else here: '
                f"person {by_name.get(name, key)} is called {known.get(key, name)!r}. {_TAKEN}"
            )
        else:
            new.append(row)
    return new


def _refuse_taken_keys(belonging: Belonging, chunk: list[tuple[Any, ...]]) -> None:
    place = _place_of_key(belonging)
    if place is None:
        return
    came = [row[place] for row in chunk]
    taken = belonging.model._base_manager.filter(pk__in=came).values_list("pk", flat=True).first()
    if taken is None:
        return
    if belonging.model is Chain:
        raise CannotMoveIn("This venue is in this database already: its ledger is here.")
    raise CannotMoveIn(f"{belonging.label}:{taken} is here already. {_TAKEN}")


def _insert(belonging: Belonging, chunk: list[tuple[Any, ...]]) -> None:
    """Put rows in as they are: a model's own saving would set moments anew, and add entries."""
    fields = list(belonging.fields)
    if belonging.model is User:
        own = [User._meta.get_field(name) for name in ("password", "is_superuser", "is_staff")]
        fields += own
        chunk = [(*row, make_password(None), False, False) for row in chunk]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(each.column) for each in fields)
    blanks = ", ".join(["%s"] * len(fields))
    table = quote(belonging.model._meta.db_table)
    sql = f"INSERT INTO {table} ({columns}) VALUES ({blanks})"  # noqa: S608 - names of our own
    rows = [
        tuple(
            each.get_db_prep_save(value, connection)
            for each, value in zip(fields, row, strict=True)
        )
        for row in chunk
    ]
    with connection.cursor() as cursor:
        cursor.executemany(sql, rows)


def _refuse_strangers(keys: _Keys) -> None:
    """A foreign key names a record of this file, never one of another venue here."""
    for (column, target), named in keys.named.items():
        for stranger in sorted(named - keys.came[target])[:1]:
            label = target._meta.label_lower
            raise CannotMoveIn(f"{column} names {label}:{stranger}, which is not in the file.")


def _the_venue(archive: Archive, keys: _Keys) -> Venue:
    if len(keys.came[Venue]) != 1 or keys.came[Chain] != {archive.manifest.chain}:
        raise CannotMoveIn("The file does not hold one venue with one ledger.")
    return Venue.objects.get(pk=next(iter(keys.came[Venue])))


def _refuse_what_is_not_of(venue: Venue, members: dict[str, Member]) -> None:
    for belonging in belongings():
        if belonging.rows(venue).count() != members[belonging.label].rows:
            raise CannotMoveIn(f"{belonging.label}: some of its records belong to no venue.")


def _let_keys_count_on() -> None:
    """Where keys are counted by the database apart from the rows, go on after the highest."""
    counted = [belonging.model for belonging in belongings() if belonging.model is not Entry]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), counted):
            cursor.execute(statement)
