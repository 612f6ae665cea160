"""What a section is made of, before anybody decides how paper or a file of rows shows it."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from reportlab.graphics.shapes import Drawing

from kegsafe.inspection.scope import Scope
from kegsafe.ledger.models import Recorded
from kegsafe.reports.table_layout import Column
from kegsafe.reports.text import Bold

__all__ = [
    "Block",
    "Bold",
    "Column",
    "Figure",
    "Heading",
    "Look",
    "Picture",
    "Row",
    "Rows",
    "Scope",
    "Section",
    "Words",
    "subject_of",
]


class Look(Enum):
    """How a paragraph is set."""

    TEXT = "text"
    FINE = "fine"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading inside a section, with a bookmark."""

    text: str
    level: int = 1


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph; `with_next` keeps it on the page of what follows."""

    pieces: tuple[str | Bold, ...]
    look: Look = Look.TEXT
    with_next: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A row, what is said below it, and the ledger's names of the records it shows."""

    cells: Sequence[str | Bold]
    below: Sequence[str] = ()
    subjects: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Rows:
    """A table: on paper, and as a file of the same name among the rows that go with it.

    `below` names what may stand below a row, which a file has as further columns. `none` is
    what paper says where there is no row; `is_dense` is for short figures in many columns.
    """

    name: str
    columns: Sequence[Column]
    rows: Iterable[Row]
    none: str
    below: Sequence[str] = ()
    is_dense: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing; `said` is the same in words, for a reader who does not see it."""

    drawing: Drawing
    said: str


Block = Heading | Words | Rows | Picture


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of the summary. `asks` where an inspector would stop and look."""

    what: str
    number: str
    asks: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the pack: what it shows of a scope, and its figures for the summary.

    `across` turns its pages; `is_always` is no matter of choice.
    """

    key: str
    title: str
    blocks: Callable[[Scope], Iterator[Block]]
    figures: Callable[[Scope], Iterator[Figure]] = lambda _: iter(())
    across: bool = False
    is_always: bool = False


def subject_of(model: type[Recorded], pk: int) -> str:
    """Return how the ledger names a record that was not fetched as one."""
    return f"{model._meta.label_lower}:{pk}"
