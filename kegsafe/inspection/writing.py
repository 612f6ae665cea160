"""From the sections of a pack to paper and, beside it, to files of the same rows."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

from kegsafe.frame.cautions import DEFERENCE
from kegsafe.inspection.blocks import Block, Figure, Heading, Look, Picture, Row, Rows, Section
from kegsafe.inspection.row_files import RowFiles
from kegsafe.inspection.scope import Scope
from kegsafe.reports.paper import FINE, TEXT, Imprint, Paper
from kegsafe.reports.table_layout import Column, TableRow
from kegsafe.reports.text import Bold, style

_LOOKS = {Look.TEXT: TEXT, Look.FINE: FINE}
_VENUE = style(24, bold=True, leading=1.2)
_SUMMARY = (Column("Part", 46), Column("What", 92), Column("Number", 18), Column("", 26))
_COUNTS = (Column("Table", 60), Column("File beside the pack", 60), Column("Rows", 24))
_LOOK_HERE = "▲ look here"

# Told which part is being written, how many are done, and of how many.
Progress = Callable[[str, int, int], None]


@dataclass
class Written:
    """What came of writing a pack.

    counts : the rows of each table by its name
    subjects : the ledger's names of the records shown
    """

    pages: int = 0
    counts: dict[str, int] = field(default_factory=dict)
    subjects: dict[str, None] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        return sum(self.counts.values())


def write_pack(
    scope: Scope,
    sections: Sequence[Section],
    out: BinaryIO,
    *,
    paper: str,
    files: RowFiles | None = None,
    progress: Progress = lambda *_: None,
) -> Written:
    """Write the pack into `out`, and each table into `files` where they are wanted.

    paper : a key of kegsafe.reports.paper.PAPERS

    Nothing is asked of a clock: the same records and the same scope give the same bytes.
    """
    return _Writing(scope, sections, out, paper, files, progress).whole()


class _Writing:
    def __init__(
        self,
        scope: Scope,
        sections: Sequence[Section],
        out: BinaryIO,
        paper: str,
        files: RowFiles | None,
        progress: Progress,
    ) -> None:
        self.scope, self.sections, self.files, self.progress = scope, sections, files, progress
        chain = scope.chain
        imprint = Imprint(
            title=f"Inspection pack, {scope.venue.name}",
            author=scope.venue.name,
            foot=f"Ledger entry {chain.head_sequence}, {chain.head_hash}",
            made_at=scope.made_at,
        )
        self.paper = Paper(out, paper, imprint)
        self.written = Written()
        self.titles: dict[str, str] = {}

    def whole(self) -> Written:
        total = len(self.sections) + 2
        self.progress("Summary", 0, total)
        self._cover()
        self._summary()
        for number, section in enumerate(self.sections, 1):
            self.progress(section.title, number, total)
            self.paper.section(section.title, key=section.key, across=section.across)
            for block in section.blocks(self.scope):
                self._put(block, section.title)
        self.progress("How to check this pack", total - 1, total)
        self._how_to_check()
        self.written.pages = self.paper.close()
        return self.written

    def _cover(self) -> None:
        scope, paper = self.scope, self.paper
        code = scope.venue.code
        paper.section("Inspection pack", own_page=True)
        paper.words(scope.venue.name, look=_VENUE, space=30)
        paper.space(14)
        paper.facts(
            (
                ("Period", scope.period),
                ("Address", scope.venue.address or "not recorded"),
                ("Food code", f"{code.name}: {code.edition}"),
                ("Jurisdiction", code.jurisdiction),
                ("Made by", scope.made_by),
                ("Made", scope.moment(scope.made_at)),
                ("Times are those of", scope.venue.time_zone),
                ("Ledger", f"entry {scope.chain.head_sequence}, {scope.chain.head_hash}"),
            )
        )
        paper.space(6)
        paper.words(
            "What the record of this venue shows for the period, with the verdicts of its rules. "
            "What is not on record is never taken for good. ",
            DEFERENCE,
            space=10,
        )
        paper.heading("What is in it")
        parts = [("summary", "Summary")]
        parts += [(section.key, section.title) for section in self.sections]
        paper.contents([*parts, ("check", "How to check this pack")])

    def _summary(self) -> None:
        paper = self.paper
        paper.section("Summary", key="summary", own_page=True)
        figures = [(section.title, list(section.figures(self.scope))) for section in self.sections]
        asking = sum(each.asks for _, some in figures for each in some)
        said = (
            f"{asking} of these figures ask to be looked at: they stand in bold with a mark."
            if asking
            else "None of these figures asks to be looked at."
        )
        paper.words(f"{self.scope.period}. {said}", with_next=True)
        paper.table(_SUMMARY, _summary_rows(figures))

    def _put(self, block: Block, section: str) -> None:
        match block:
            case Heading():
                self.paper.heading(block.text, block.level)
            case Rows():
                self._put_rows(block, section)
            case Picture():
                self.paper.picture(block.drawing)
            case _:
                look = _LOOKS[block.look]
                self.paper.words(*block.pieces, look=look, with_next=block.with_next)

    def _put_rows(self, block: Rows, section: str) -> None:
        rows = self._noted(block)
        if self.files:
            rows = _beside(self.files, block, section, rows)
        shown = (TableRow(row.cells, _below(block, row)) for row in rows)
        drawn = self.paper.table(block.columns, shown, is_dense=block.is_dense)
        if not drawn and block.none:
            self.paper.words(block.none)
        self.written.counts[block.name] = drawn
        self.titles[block.name] = section

    def _noted(self, block: Rows) -> Iterator[Row]:
        for row in block.rows:
            self.written.subjects.update(dict.fromkeys(row.subjects))
            yield row

    def _how_to_check(self) -> None:
        paper, chain = self.paper, self.scope.chain
        paper.section("How to check this pack", key="check", own_page=True)
        paper.facts(
            (
                ("Ledger", chain.key),
                ("Last entry", str(chain.head_sequence)),
                ("Its hash (SHA-256)", chain.head_hash),
                ("Records shown", str(len(self.written.subjects))),
                ("Rows in all tables", str(self.written.rows)),
            )
        )
        paper.space(8)
        for sentence in _HOW_TO_CHECK:
            paper.words(sentence)
        paper.heading("Rows of each table")
        paper.table(
            _COUNTS,
            (
                TableRow((self.titles[name], f"{name}.csv", str(rows)))
                for name, rows in self.written.counts.items()
            ),
        )


_HOW_TO_CHECK = (
    "Every record of this venue is an entry of its ledger, and each entry is bound to the one "
    "before it by a hash (SHA-256). Whoever changes an old record changes its hash and all that "
    "follow.",
    "The last entry this pack rests on stands at the foot of every page. On the venue's page "
    "Ledger the entry of that number shows the same hash; if it shows another, or none, the "
    "record was changed since.",
    "As the site hands it out, this file carries a signature made with a key of the venue's own. "
    "The venue's page for checking a pack, which anybody may open, and the command check_pack say "
    "whether the file is as it was made and whether what it shows still stands in the ledger.",
    "The command verify_ledger walks the whole chain and holds every record against it.",
    "The rows of each table are in the ZIP beside this pack; its index names each file with its "
    "rows and its hash.",
)


def _summary_rows(figures: Iterable[tuple[str, list[Figure]]]) -> Iterator[TableRow]:
    for title, some in figures:
        for number, each in enumerate(some):
            part = title if number == 0 else ""
            if each.asks:
                cells = (part, Bold(each.what), Bold(each.number), Bold(_LOOK_HERE))
            else:
                cells = (part, each.what, each.number, "")
            yield TableRow(cells)


def _below(block: Rows, row: Row) -> list[str]:
    named = zip(block.below, row.below, strict=False)
    return [f"{name}: {said}" for name, said in named if said]


def _beside(files: RowFiles, block: Rows, section: str, rows: Iterable[Row]) -> Iterator[Row]:
    """Yield the rows, each written to its file on the way."""
    passed: list[Row] = []

    def cells() -> Iterator[list[str]]:
        for row in rows:
            passed.append(row)
            texts = [cell.text if isinstance(cell, Bold) else cell for cell in row.cells]
            yield [*texts, *row.below]

    heads = [column.head for column in block.columns] + list(block.below)
    for _ in files.copied(block.name, section, heads, cells()):
        yield passed.pop()
