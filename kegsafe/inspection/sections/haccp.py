"""The venue's HACCP summary by the seven principles, with the limits and plans in force."""

from collections.abc import Iterator

from kegsafe.frame.templatetags.kegsafe import verified_word
from kegsafe.inspection.blocks import (
    Block,
    Bold,
    Column,
    Figure,
    Look,
    Row,
    Rows,
    Scope,
    Section,
    Words,
)
from kegsafe.inspection.haccp import SummaryStep, heading, summary_of
from kegsafe.rules.haccp import TEXTS, principles

_WIDTHS = {"records": 26}
_NOT_ADOPTED = (
    "This venue has adopted no summary of its own. What follows is the starter text of this "
    "program: it is nobody's plan until the venue has made it its own."
)


def _blocks(scope: Scope) -> Iterator[Block]:
    steps = _steps(scope)
    if any(step.own is None for step in steps):
        yield Words((Bold(_NOT_ADOPTED),))
    named = " ".join(f"{each.number}. {each.principle}" for each in principles())
    yield Words((f"From the door to the glass, by the seven principles. {named}",))
    first = principles()[0]
    yield Words((f"{first.source}; {verified_word(first.verified)}.",), Look.FINE)
    columns = (
        Column("Step", 20),
        *(Column(_head(name), _WIDTHS.get(name, 36)) for name in TEXTS),
    )
    yield Rows("haccp", columns, _rows(steps), "", ("In force",))


def _steps(scope: Scope) -> list[SummaryStep]:
    return summary_of(scope.venue, scope.made_at.astimezone(scope.zone).date())


def _head(name: str) -> str:
    numbers = [each.number for each in principles() if each.asked_as == name]
    return f"{heading(name)} ({numbers[0]})" if numbers else f"{heading(name)} (1)"


def _rows(steps: list[SummaryStep]) -> Iterator[Row]:
    for step in steps:
        critical = " Critical control point (2)" if step.is_critical else ""
        yield Row(
            (Bold(f"{step.name}.{critical}"), *(step.text(name) for name in TEXTS)),
            (" ".join(step.in_force),),
            (step.own.ledger_subject,) if step.own else (),
        )


def _figures(scope: Scope) -> Iterator[Figure]:
    steps = _steps(scope)
    critical = sum(step.is_critical for step in steps)
    yield Figure("Steps of the work", str(len(steps)))
    yield Figure("Of these critical control points", str(critical))
    is_own = all(step.own for step in steps)
    yield Figure("Adopted by the venue", "yes" if is_own else "no", asks=not is_own)


SECTION = Section("haccp", "HACCP summary", _blocks, _figures, across=True)
