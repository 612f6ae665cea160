"""What is said when a quantity cannot be read: what was wrong, what was typed, one right way."""

from collections.abc import Sequence

from kegsafe.quantities.kinds import KindRow

LONGEST_SHOWN = 40


class UnreadableQuantity(ValueError):
    """A text that is not a quantity of the kind asked for. `str()` is a sentence for people."""

    code = "unreadable"

    def __init__(self, typed: str, trouble: str, rows: Sequence[KindRow], advice: str = "") -> None:
        self.typed = typed
        super().__init__(
            f"{shown(typed)} {trouble} {advice or f'Write it like this: {examples(rows)}.'}"
        )


class NotANumber(UnreadableQuantity):
    """No single number can be read from the text."""

    code = "not_a_number"


class TooLong(UnreadableQuantity):
    """More text than any quantity needs."""

    code = "too_long"


class MissingUnit(UnreadableQuantity):
    """A number alone, where a unit is needed."""

    code = "missing_unit"


class UnknownUnit(UnreadableQuantity):
    """A unit nobody here knows."""

    code = "unknown_unit"


class RefusedUnit(UnreadableQuantity):
    """A unit that is known and cannot be converted without guessing: proof, a part."""

    code = "refused_unit"


class AmbiguousUnit(UnreadableQuantity):
    """A unit that means two things here: oz where volume and weight are both welcome."""

    code = "ambiguous_unit"


class WrongKind(UnreadableQuantity):
    """A readable quantity of another kind: psi for a temperature, psia for a gauge."""

    code = "wrong_kind"


class OutOfRange(UnreadableQuantity):
    """A readable quantity that cannot be true: below absolute zero, a negative volume."""

    code = "out_of_range"


def shown(typed: str) -> str:
    """What was typed, in quotation marks, on one line, shortened to 40 characters."""
    start = typed.strip()[: LONGEST_SHOWN + 1]
    line = "".join(c if c.isprintable() else " " for c in start)
    return f'"{line}"' if len(line) <= LONGEST_SHOWN else f'"{line[: LONGEST_SHOWN - 1]}…"'


def examples(rows: Sequence[KindRow]) -> str:
    """Two right answers for one kind, one each where several kinds are welcome."""
    several = (
        rows[0].examples
        if len(rows) == 1
        else [row.clear_example or row.examples[0] for row in rows[:3]]
    )
    return " or ".join(several)


def nouns(rows: Sequence[KindRow]) -> str:
    """What belongs in the field: "a volume or a weight"."""
    return " or ".join(row.noun for row in rows)


def the_thing(rows: Sequence[KindRow]) -> str:
    """The same with "the" for its article; "it" where several kinds are welcome."""
    return "the " + rows[0].noun.partition(" ")[2] if len(rows) == 1 else "it"
