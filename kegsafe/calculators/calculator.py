"""What a calculator is: its inputs, its relation, and the answer it gives.

A calculator is declared once, in the module of its subject. The command, the page and its
plot read that one declaration; the arithmetic itself is in `kegsafe.science`.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from kegsafe.calculators.plot import Plot
from kegsafe.quantities import ROWS, Kind, Quantity, UnitSystem, in_unit, write
from kegsafe.quantities.units import to_base, unit_called

Kinds = Kind | tuple[Kind, ...]


class Refused(Exception):
    """What was typed cannot be worked with. Sentences for people, by key; "" for all together."""

    def __init__(self, errors: Mapping[str, Sequence[str]]) -> None:
        self.errors = {key: list(sentences) for key, sentences in errors.items()}
        super().__init__(self.errors)

    @classmethod
    def at(cls, key: str, sentence: str) -> "Refused":
        """One sentence at one input."""
        return cls({key: [sentence]})


@dataclass(frozen=True, slots=True)
class Input:
    """One quantity a person types.

    key : its name on the command line and in the address of a page
    label : its name on the page, in the words of the trade
    kind : what belongs here; a tuple where several kinds are welcome
    example : an answer that works in this calculator's example; "" where it stays blank
    needed : False where it may be left blank
    default : what a blank stands for, as somebody would type it
    blank_means : the same in words, shown beside the field and in the answer
    science_names : how the science layer calls it when it refuses a value
    """

    key: str
    label: str
    kind: Kinds
    example: str
    needed: bool = True
    default: str = ""
    blank_means: str = ""
    science_names: tuple[str, ...] = ()

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds that are welcome."""
        return self.kind if isinstance(self.kind, tuple) else (self.kind,)

    @property
    def takes(self) -> str:
        """What may be typed, with two right answers."""
        rows = [ROWS[kind] for kind in self.kinds]
        shown = rows[0].examples if len(rows) == 1 else [row.examples[0] for row in rows]
        return f"{' or '.join(row.noun for row in rows)}: {' or '.join(shown)}"

    @property
    def units(self) -> tuple[str, ...]:
        """The first word of every unit that is taken."""
        words = [unit.words[0] for kind in self.kinds for unit in ROWS[kind].units]
        return tuple(dict.fromkeys(word for word in words if word))


@dataclass(frozen=True, slots=True)
class Choice:
    """One word out of a few.

    options : value and label of each
    """

    key: str
    label: str
    options: tuple[tuple[str, str], ...]
    example: str
    needed: bool = True
    default: str = ""
    blank_means: str = ""


@dataclass(frozen=True, slots=True)
class PartsInput:
    """A list whose rows hold the same quantities, such as the parts of a blend.

    columns : what stands in a row, in order; a column that is not needed may be left out
    example : rows as JSON
    """

    key: str
    label: str
    columns: tuple[Input, ...]
    example: str
    needed: bool = True
    blank_means: str = ""


@dataclass(frozen=True, slots=True)
class LogInput:
    """Times with temperatures, as a table with two columns.

    example : a few lines of CSV
    """

    key: str
    label: str
    example: str
    needed: bool = True
    blank_means: str = ""


AnyInput = Input | Choice | PartsInput | LogInput


@dataclass(frozen=True, slots=True)
class Given:
    """What was typed, read: quantities, words, rows and logs by key."""

    quantities: Mapping[str, Quantity]
    words: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, Sequence[Sequence[Quantity | None]]] = field(default_factory=dict)
    logs: Mapping[str, Sequence[tuple[float, float]]] = field(default_factory=dict)

    def has(self, key: str) -> bool:
        """Whether something was typed, or a default stands, for the key."""
        return any(key in held for held in (self.quantities, self.words, self.parts, self.logs))

    def number(self, key: str, unit: str) -> float:
        """The quantity in a unit of its kind. Raises KeyError where the field was left blank."""
        return float(in_unit(self.quantities[key], unit))

    def number_or(self, key: str, unit: str, blank: float) -> float:
        """The quantity in a unit of its kind, or `blank` where nothing was typed."""
        return self.number(key, unit) if key in self.quantities else blank

    def number_or_none(self, key: str, unit: str) -> float | None:
        """The quantity in a unit of its kind, or None where nothing was typed."""
        return self.number(key, unit) if key in self.quantities else None


@dataclass(frozen=True, slots=True)
class Result:
    """One figure or one word of an answer.

    key : its name in JSON
    value : a number in `unit`, a word, a claim, or None where nothing can be said
    unit : of the number; empty for words and plain numbers
    kind : how the number is written for people in both unit systems; None writes it as it is
    says : words instead of the number, where words say more
    group : heading of the table it stands in; "" for the figures on top
    """

    key: str
    label: str
    value: float | str | bool | None
    unit: str = ""
    kind: Kind | None = None
    says: str = ""
    group: str = ""

    def text(self, units: UnitSystem) -> str:
        """The result for people, in their units first and in the other system where it differs."""
        if self.says:
            return self.says
        if self.value is None:
            return "not known"
        if isinstance(self.value, bool):
            return "yes" if self.value else "no"
        if isinstance(self.value, str):
            return self.value
        if self.kind is None:
            return f"{_rounded(self.value)} {self.unit}".strip()
        base = base_value(self.value, self.unit, self.kind)
        # % vol and % ABV are one figure under two names.
        return write(base, self.kind, units, both=self.kind is not Kind.ALCOHOL)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculator found.

    results : the first is what was asked for
    warnings : what somebody must know before using the figures
    uncertainty : where it depends on the answer; else the calculator's own stands
    """

    results: tuple[Result, ...]
    warnings: tuple[str, ...] = ()
    uncertainty: str = ""


@dataclass(frozen=True)
class Calculator:
    """One calculator. Its texts are shown beside every answer.

    name : on the command line and in the address of its page
    title, purpose : heading and one line
    subject : heading it stands under in the index
    inputs : in the order they are asked for
    work : inputs to answer; may raise Refused, OutsideRange or ValueError with a sentence
    relation : what is computed, in words
    source : where the relation comes from
    verified : how it was checked
    range, uncertainty : where it holds and how good it is
    cautions : what always stands beside the answer
    plot : inputs to a plot in a unit system, where looking beats reading
    one_of : inputs of which exactly one is filled in
    """

    name: str
    title: str
    purpose: str
    subject: str
    inputs: tuple[AnyInput, ...]
    work: Callable[[Given], Answer]
    relation: str
    source: str
    verified: str
    range: str
    uncertainty: str
    cautions: tuple[str, ...] = ()
    plot: Callable[[Given, UnitSystem], Plot] | None = None
    one_of: tuple[str, ...] = ()

    @cached_property
    def by_key(self) -> Mapping[str, AnyInput]:
        """The inputs by key."""
        return {each.key: each for each in self.inputs}

    @property
    def has_lists(self) -> bool:
        """Whether it takes a list or a log, which an address cannot hold."""
        return any(isinstance(each, PartsInput | LogInput) for each in self.inputs)

    @property
    def example(self) -> Mapping[str, str]:
        """Inputs that work, as somebody would type them."""
        spare = [key for key in self.one_of if self.by_key[key].example][1:]
        return {
            each.key: each.example for each in self.inputs if each.example and each.key not in spare
        }


def base_value(value: float, unit: str, kind: Kind) -> Decimal:
    """A number in a unit of a kind as the kind's base unit, where `write` wants it."""
    row = ROWS[kind]
    return to_base(Decimal(repr(float(value))), unit_called(row, unit), row)


def _rounded(value: float) -> str:
    """Three figures, or all of a whole number that has more."""
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
