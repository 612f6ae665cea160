"""What each drink on tap declares now, one column for each allergen that any of them has."""

from collections.abc import Iterator

from kegsafe.batches.models import Fill
from kegsafe.frame.cautions import ALLERGENS
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
    subject_of,
)
from kegsafe.pour.queries import KegView
from kegsafe.rules.allergen_lists import list_entries
from kegsafe.rules.allergens import Declaration, Declared
from kegsafe.rules.codes import regimes
from kegsafe.rules.pour_check import PourVerdict

_LISTED = "listed"
_TAP, _DRINK, _MARK, _WORDS = 10, 34, 6, 54
_CONTAINS, _MAY, _NOT_KNOWN = "C", "M", "?"


def _blocks(scope: Scope) -> Iterator[Block]:
    regime = regimes()[scope.venue.code.allergen_regime]
    yield Words(
        (
            f"The list of {regime.name}, for what is on tap at the moment this pack was made, "
            "worked out from everything on record as the pour check does. ",
            Bold("C"),
            " contains, ",
            Bold("M"),
            " may contain, ",
            Bold("?"),
            " not known; nothing: not declared by anything on record. A drink in two kegs stands "
            "here twice.",
        )
    )
    yield Rows("allergens", _columns(scope), _rows(scope), "Nothing is on tap.")
    yield Words((f"{regime.poured_drink_duty} {regime.source}, {regime.section}.",), Look.FINE)
    yield Words((Bold("Caution."), f" {ALLERGENS}"))


def _groups(scope: Scope) -> dict[str, str]:
    """Return the list's own groups with their names, in the list's order."""
    regime = scope.venue.code.allergen_regime
    found: dict[str, str] = {}
    for entry in list_entries():
        if entry.regime == regime and entry.standing == _LISTED:
            found.setdefault(entry.group, entry.display_name)
            if entry.entry == entry.group:
                found[entry.group] = entry.display_name
    return found


def _columns(scope: Scope) -> tuple[Column, ...]:
    marks = (Column(name, _MARK, upright=True) for name in _groups(scope).values())
    return (Column("Tap", _TAP), Column("Drink", _DRINK), *marks, Column("In words", _WORDS))


def _on_tap(scope: Scope) -> list[tuple[KegView, PourVerdict]]:
    on_tap = [
        (view, verdict)
        for view, verdict in scope.pouring
        if view.row["tap_name"] and verdict.declaration
    ]
    # Tap 2 comes before tap 10.
    return sorted(on_tap, key=lambda each: (len(each[0].row["tap_name"]), each[0].row["tap_name"]))


def _rows(scope: Scope) -> Iterator[Row]:
    groups = _groups(scope)
    group_of = {
        entry.entry: entry.group
        for entry in list_entries()
        if entry.regime == scope.venue.code.allergen_regime
    }
    for view, verdict in _on_tap(scope):
        marks = _marks(verdict.declaration, group_of)
        yield Row(
            (
                view.row["tap_name"],
                f"{view.row['drink']}, keg {view.row['name']}",
                *(Bold(marks[group]) if group in marks else "" for group in groups),
                _in_words(view, verdict.declaration),
            ),
            subjects=(subject_of(Fill, view.row["fill_id"]),),
        )


def _in_words(view: KegView, declaration: Declaration) -> str:
    """Return all that is declared: a name outside the list's count has no column of its own."""
    also = ", ".join(each.display_name for each in declaration.also_contains)
    unknown = ", ".join(view.facts.fill.ingredients_with_unknown_allergens)
    return " ".join(
        (
            declaration.statement,
            *([f"Also in it: {also}."] if also else []),
            *([f"Not known of {unknown}: ask."] if unknown else []),
        )
    )


def _marks(declaration: Declaration, group_of: dict[str, str]) -> dict[str, str]:
    """Return the gravest mark of each group."""
    marks: dict[str, str] = {}
    for mark, named in (
        (_CONTAINS, declaration.contains),
        (_MAY, declaration.may_contain),
        (_NOT_KNOWN, declaration.not_known),
    ):
        for entry in _entries(named):
            marks.setdefault(group_of.get(entry, entry), mark)
    return marks


def _entries(named: tuple[Declared, ...]) -> Iterator[str]:
    for each in named:
        yield from each.entries


def _figures(scope: Scope) -> Iterator[Figure]:
    yield Figure("Drinks on tap", str(len(_on_tap(scope))))
    unknown = sum(
        bool(verdict.declaration.not_known or view.facts.fill.ingredients_with_unknown_allergens)
        for view, verdict in _on_tap(scope)
    )
    yield Figure("Of these with an allergen that is not known", str(unknown), asks=unknown > 0)


SECTION = Section("allergens", "Allergens of what is on tap", _blocks, _figures)
