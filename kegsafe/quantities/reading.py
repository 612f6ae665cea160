"""Read a quantity as a person means it, or say in a sentence why not."""

import difflib
import re
from collections.abc import Sequence
from decimal import Decimal

from kegsafe.quantities import refusals
from kegsafe.quantities.kinds import Kind, KindRow, Unit
from kegsafe.quantities.quantity import Quantity
from kegsafe.quantities.table import ROWS
from kegsafe.quantities.typed_numbers import LONGEST_TEXT, NumberTrouble, split
from kegsafe.quantities.units import key, refusals_of, to_base, words_of
from kegsafe.quantities.writing import write

Rows = Sequence[KindRow]

_WORD_IN_FRONT = re.compile(r"\s*([A-Za-z_][A-Za-z_ ]*?)\s*[:=]?\s*(?=[\d.,])")
# A unit starts like one; a second number or an operator does not.
_NOT_A_UNIT = re.compile(r"[\d.,+*^~<>=-]|/\s*\d")
_SECOND_NUMBER = re.compile(r"\d")


def read(text: str, kind: Kind | tuple[Kind, ...]) -> Quantity:
    """The quantity a person typed, in its kind's base unit.

    text : number and unit, at most 40 characters: "36 F", "5,5 bar", "1 1/2 oz"
    kind : what belongs in the field; a tuple where several kinds are welcome

    Raises a subclass of UnreadableQuantity whose text is meant for the person.

    >>> read("19L", Kind.VOLUME).value
    Decimal('19000')
    """
    rows = [ROWS[each] for each in (kind if isinstance(kind, tuple) else (kind,))]
    if len(text) > LONGEST_TEXT:
        trouble = f"is longer than {LONGEST_TEXT} characters, too long for {refusals.nouns(rows)}."
        raise refusals.TooLong(text, trouble, rows)
    number, digits, word = _split(text, rows)
    row, unit = _unit(text, digits, word, rows)
    return _quantity(text, number, unit, row)


def _split(text: str, rows: Rows) -> tuple[Decimal, str, str]:
    try:
        return split(_word_behind(text, rows))
    except NumberTrouble as trouble:
        raise refusals.NotANumber(text, str(trouble), rows, trouble.advice) from None


def _word_behind(text: str, rows: Rows) -> str:
    """pH 3.4 as 3.4 pH, only for kinds that are written without a unit as well."""
    front = _WORD_IN_FRONT.match(text)
    for row in rows:
        if front and row.bare_number and key(front[1]) in words_of(row.kind):
            return f"{text[front.end() :]} {front[1]}"
    return text


def _unit(text: str, digits: str, word: str, rows: Rows) -> tuple[KindRow, Unit]:
    if not word:
        return _bare(text, rows)
    spelled = key(word)
    for row in rows:
        if spelled in refusals_of(row.kind):
            raise _refused(text, refusals_of(row.kind)[spelled], rows)
    found = [(row, words_of(row.kind)[spelled][1]) for row in rows if spelled in words_of(row.kind)]
    if len(found) == 1:
        return found[0]
    if found:
        raise _ambiguous(text, digits, word, found)
    raise _unusable(text, digits, word, rows)


def _bare(text: str, rows: Rows) -> tuple[KindRow, Unit]:
    if len(rows) == 1 and rows[0].bare_number:
        return rows[0], rows[0].units[0]
    advice = f"Write {refusals.the_thing(rows)} with one: {refusals.examples(rows)}."
    raise refusals.MissingUnit(text, "has no unit.", rows, advice)


def _refused(text: str, sentence: str, rows: Rows) -> refusals.RefusedUnit:
    trouble = f"cannot be read as {refusals.nouns(rows)}. {sentence}"
    return refusals.RefusedUnit(text, trouble, rows)


def _ambiguous(
    text: str, digits: str, word: str, found: Sequence[tuple[KindRow, Unit]]
) -> refusals.AmbiguousUnit:
    rows = [row for row, _ in found]
    trouble = f"can be {refusals.nouns(rows)}: {refusals.shown(word)} is used for each."
    clear = [_word_of_its_own(row, unit, rows) for row, unit in found]
    advice = f"Write {' or '.join(f'{digits} {each}' for each in clear)}." if all(clear) else ""
    return refusals.AmbiguousUnit(text, trouble, rows, advice)


def _word_of_its_own(row: KindRow, unit: Unit, rows: Rows) -> str:
    """Another word for the same unit that no other kind welcome here uses; else nothing."""
    others = {spelled for other in rows if other is not row for spelled in words_of(other.kind)}
    same = [each for each in row.units if (each.name, each.times) == (unit.name, unit.times)]
    return next((w for each in same for w in each.words if key(w) not in others), "")


def _unusable(text: str, digits: str, word: str, rows: Rows) -> refusals.UnreadableQuantity:
    """The most helpful thing to say about a word that is no unit of the kinds asked for."""
    spelled = key(word)
    for row in ROWS.values():
        if spelled in words_of(row.kind):
            trouble = f"is {row.noun}, and {refusals.nouns(rows)} belongs here."
            return refusals.WrongKind(text, trouble, rows)
    if _NOT_A_UNIT.match(word) or _SECOND_NUMBER.search(word):
        return refusals.NotANumber(text, "is not one number with one unit.", rows)
    trouble = f"has a unit that is not known here: {refusals.shown(word)}."
    return refusals.UnknownUnit(text, trouble, rows, _suggestion(digits, spelled, rows))


def _suggestion(digits: str, spelled: str, rows: Rows) -> str:
    words = {each: word for row in rows for each, (word, _) in words_of(row.kind).items()}
    near = difflib.get_close_matches(spelled, words, n=1)
    return f"Did you mean {digits} {words[near[0]]}?" if near else ""


def _quantity(text: str, number: Decimal, unit: Unit, row: KindRow) -> Quantity:
    value = to_base(number, unit, row)
    if value < row.lowest:
        trouble = row.too_low or f"is less than nothing: {row.noun} cannot be negative"
        raise refusals.OutOfRange(text, f"{trouble}.", [row])
    if value > row.highest:
        most = write(row.highest, row.kind, "metric")
        trouble = f"is too much for {row.noun}: at most {most} can be right here."
        raise refusals.OutOfRange(text, trouble, [row])
    return Quantity(row.kind, value, text)
