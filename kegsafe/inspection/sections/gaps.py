"""The gaps an inspector would find in the records, as the self-check names them."""

from collections.abc import Iterator

from kegsafe.frame.templatetags.kegsafe import verified_word
from kegsafe.inspection.blocks import Block, Bold, Column, Figure, Row, Rows, Scope, Section, Words
from kegsafe.readiness.queries import gaps
from kegsafe.rules.readiness import Gap, Item, Weight

_COLUMNS = (
    Column("What", 58),
    Column("How many", 14),
    Column("Since", 31),
    Column("Clause", 46),
    Column("What an inspector may do", 48),
)


def _blocks(scope: Scope) -> Iterator[Block]:
    yield Words(
        (
            Bold("A self-check, not an inspection."),
            " Worked out from the records alone when this pack was made, and said openly: not "
            "hands, floors, drains or pests, and not whether what was written down is so.",
        )
    )
    yield Rows("open-gaps", _COLUMNS, _rows(scope), "No gap in the records looked at.", ("On",))


def _rows(scope: Scope) -> Iterator[Row]:
    for gap in gaps(scope.venue, scope.made_at):
        clause = f"{gap.clause.citation}, {verified_word(gap.clause.verified)}"
        weight = gap.weight.in_words
        yield Row(
            (
                Bold(gap.what) if gap.weight is Weight.STOP else gap.what,
                str(gap.count),
                scope.short(gap.since) if gap.since else "not known",
                clause,
                Bold(weight) if gap.weight is Weight.STOP else weight,
            ),
            (_on(gap),),
        )


def _on(gap: Gap) -> str:
    return " ".join(map(_item, gap.items))


def _item(item: Item) -> str:
    why = item.why.rstrip(".")
    return f"{item.name}: {why}." if why else f"{item.name}."


def _figures(scope: Scope) -> Iterator[Figure]:
    found = gaps(scope.venue, scope.made_at)
    for weight in Weight:
        number = sum(gap.weight is weight for gap in found)
        yield Figure(weight.in_words.rstrip("."), str(number), asks=number > 0)


SECTION = Section("gaps", "Open gaps", _blocks, _figures)
