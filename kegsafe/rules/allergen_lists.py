"""The allergen lists as data: sources, the names each list has for them, and exemptions."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from types import MappingProxyType

from kegsafe.rules.tables import Row, read_rows
from kegsafe.science.tables import SHARED

_FOLDER = SHARED / "allergens"
_LISTS = ("eu", "uk", "us", "canada", "anz", "codex")
_CITED = ("source", "section", "verified")
_STANDINGS = ("listed", "beside", "national", "removed")


@dataclass(frozen=True, slots=True)
class AllergenSource:
    """One allergenic source and the entries each list has for it; no entry: not on that list."""

    key: str
    name: str
    includes: str
    entries: Mapping[str, tuple[str, ...]]
    national: Mapping[str, tuple[str, ...]]
    source: str
    section: str
    verified: str

    def is_on_any_list(self) -> bool:
        """Say whether any list names it, be it as a country's option."""
        return any(self.entries.values()) or any(self.national.values())


@dataclass(frozen=True, slots=True)
class ListEntry:
    """One name on one list.

    `standing` is listed, beside (owed, but outside the list's count), national (a country's
    option) or removed. `kind` explains a named member: almond is a tree nut.
    """

    regime: str
    entry: str
    group: str
    standing: str
    display_name: str
    kind: str
    note: str
    source: str
    section: str
    verified: str


@dataclass(frozen=True, slots=True)
class Process:
    """What may have been done to a source so that a list exempts it.

    `still_there` is a source exempt by law that is shown to the guest all the same.
    """

    key: str
    label: str
    sources: frozenset[str]
    still_there: bool


@dataclass(frozen=True, slots=True)
class Exemption:
    """What one list says of a process: exempt, or undecided and so not known."""

    id: str
    regime: str
    processes: frozenset[str]
    sources: frozenset[str]
    effect: str
    valid_from: date
    condition: str
    source: str
    section: str
    verified: str

    @property
    def citation(self) -> str:
        return f"{self.source}, {self.section}" if self.section else self.source


def allergen_sources() -> tuple[AllergenSource, ...]:
    """Return every source in the order of the table, for forms."""
    return tuple(sources().values())


@cache
def list_entries() -> tuple[ListEntry, ...]:
    """Return every name on every list."""
    columns = ("regime", "entry", "group", "standing", "display_name", "kind", "note", *_CITED)
    return tuple(_list_entry(row) for row in read_rows(_FOLDER / "lists.csv", columns))


@cache
def processes() -> Mapping[str, Process]:
    """Return the processes a list may exempt, by key, for forms."""
    columns = ("process", "label", "sources", "still_there", *_CITED)
    rows = read_rows(_FOLDER / "processes.csv", columns)
    return MappingProxyType(
        {
            row.text("process"): Process(
                row.text("process"),
                row.text("label"),
                _known_sources(row),
                row.flag("still_there"),
            )
            for row in rows
        }
    )


@cache
def exemptions() -> tuple[Exemption, ...]:
    """Return what each list says of each process."""
    columns = (
        "id",
        "regime",
        "processes",
        "sources",
        "effect",
        "valid_from",
        "condition",
        *_CITED,
    )
    return tuple(_exemption(row) for row in read_rows(_FOLDER / "exemptions.csv", columns))


@cache
def sources() -> Mapping[str, AllergenSource]:
    """Return every allergenic source by key, in the order of the table."""
    rows = read_rows(_FOLDER / "sources.csv", ("key", "name", "includes", *_LISTS, *_CITED))
    return MappingProxyType({row.text("key"): _source(row) for row in rows})


def _source(row: Row) -> AllergenSource:
    cells = {regime: _entries_in(row, regime) for regime in _LISTS}
    return AllergenSource(
        key=row.text("key"),
        name=row.text("name"),
        includes=row.optional("includes"),
        entries={
            regime: tuple(name for name in names if not name.startswith("["))
            for regime, names in cells.items()
        },
        national={
            regime: tuple(name.strip("[]") for name in names if name.startswith("["))
            for regime, names in cells.items()
        },
        source=row.text("source"),
        section=row.optional("section"),
        verified=row.verified(),
    )


def _entries_in(row: Row, regime: str) -> tuple[str, ...]:
    """Return the names in a cell; a dash is not on the list, brackets a country's option."""
    if row.text(regime) == "-":
        return ()
    names = tuple(name.strip() for name in row.text(regime).split(";"))
    for name in names:
        if (regime, name.strip("[]")) not in _entries():
            raise row.wrong(regime, "names that stand in lists.csv, or a dash")
    return names


@cache
def _entries() -> Mapping[tuple[str, str], ListEntry]:
    return {(entry.regime, entry.entry): entry for entry in list_entries()}


def entry_of(regime: str, entry: str) -> ListEntry:
    """Return one name of one list; KeyError where the list has no such name."""
    return _entries()[regime, entry]


def _list_entry(row: Row) -> ListEntry:
    return ListEntry(
        regime=row.one_of("regime", _LISTS),
        entry=row.text("entry"),
        group=row.text("group"),
        standing=row.one_of("standing", _STANDINGS),
        display_name=row.text("display_name"),
        kind=row.optional("kind"),
        note=row.optional("note"),
        source=row.text("source"),
        section=row.optional("section"),
        verified=row.verified(),
    )


def _exemption(row: Row) -> Exemption:
    for process in row.keys("processes"):
        if process not in processes():
            raise row.wrong("processes", "processes that stand in processes.csv")
    return Exemption(
        id=row.text("id"),
        regime=row.one_of("regime", _LISTS),
        processes=frozenset(row.keys("processes")),
        sources=_known_sources(row),
        effect=row.one_of("effect", ("exempt", "undecided")),
        valid_from=row.day("valid_from"),
        condition=row.optional("condition"),
        source=row.text("source"),
        section=row.optional("section"),
        verified=row.verified(),
    )


def _known_sources(row: Row) -> frozenset[str]:
    for source in row.keys("sources"):
        if source not in sources():
            raise row.wrong("sources", "sources that stand in sources.csv")
    return frozenset(row.keys("sources"))
