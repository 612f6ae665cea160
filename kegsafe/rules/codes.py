"""The food codes as data: what each jurisdiction demands, from which day, on whose word.

A code is a folder of shared/codes/; a limit is a row of its limits.csv. A changed limit is
a new row with its own first day, so yesterday's batch is judged by yesterday's row. Limits
that belong to an allergen list stand once per list and serve every code that uses it.
"""

import tomllib
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.moments import on_day
from kegsafe.rules.tables import BadRuleData, Row, place_of, read_rows, read_text
from kegsafe.science.tables import SHARED

WORD = "word"  # the unit of a rule that is a choice of words, not a number
UNITS = ("degC", "h", "day", "pH", "aw", "mg/l", "%", WORD)

_SAID = {
    "degC": "{} °C",
    "h": "{} h",
    "day": "{} days",
    "pH": "pH {}",
    "aw": "water activity {}",
    "mg/l": "{} mg/l",
}

_RULE_COLUMNS = ("rule", "meaning", "unit", "stricter", "words", "source", "verified")
_LIMIT_COLUMNS = (
    "rule",
    "valid_from",
    "value",
    "unit",
    "source",
    "section",
    "verified",
    "note",
)
_REGIME_COLUMNS = ("key", "name", "poured_drink_duty", "source", "section", "verified")
_CODE_KEYS = ("key", "name", "edition", "jurisdiction", "deference", "allergen_regime")


class MissingRule(LookupError):
    """A code fixes nothing for this rule on this day; the message says so in a sentence."""


@dataclass(frozen=True, slots=True)
class Rule:
    """What a rule id means, in which unit, and which way is stricter.

    `stricter` is smaller, larger or none; `words` lists what a rule in words may say.
    """

    rule: str
    meaning: str
    unit: str
    stricter: str
    words: tuple[str, ...]

    @property
    def is_difference(self) -> bool:
        """Say whether its degrees are a difference, such as an error, and not a reading."""
        return self.unit == "degC" and self.rule.startswith("thermometer.")


@dataclass(frozen=True, slots=True)
class Limit:
    """One row of a code: a value in force from a day on, with its source.

    `value` is a Decimal in `unit`, or a word where the unit is 'word'.
    """

    rule: str
    valid_from: date
    value: Decimal | str
    unit: str
    source: str
    section: str
    verified: str
    note: str

    @property
    def citation(self) -> str:
        """Return document and section as label and report print them."""
        return f"{self.source}, {self.section}" if self.section else self.source

    @property
    def number(self) -> Decimal:
        """Return the value of a rule that is a number; TypeError for a rule in words."""
        if isinstance(self.value, Decimal):
            return self.value
        raise TypeError(f"{self.rule} is a word ({self.value}), not a number.")

    @property
    def in_words(self) -> str:
        """Return value and unit as a person reads them: '5 °C', 'pH 6', 'conservative'."""
        return said(self.value, self.unit) if isinstance(self.value, Decimal) else self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitTable:
    """Dated limits under one name: a code's, or those of an allergen list."""

    key: str
    name: str
    rows: Mapping[str, tuple[Limit, ...]] = field(repr=False, compare=False)
    meanings: Mapping[str, Rule] = field(repr=False, compare=False)

    def limit(self, rule: str, on: date) -> Limit:
        """Return the row in force on a day.

        Raises MissingRule when there is none, or when the row says that the code is silent.
        """
        if rule not in self.meanings:
            raise MissingRule(f'"{rule}" is no rule this program knows.')
        row = self._row_in_force(rule, on)
        if row is None or row.value == "":
            raise MissingRule(self._silence(self.meanings[rule], row, on))
        return row

    def has(self, rule: str, on: date) -> bool:
        """Say whether the code fixes a value for the rule on a day."""
        row = self._row_in_force(rule, on)
        return row is not None and row.value != ""

    def limits(self, on: date) -> tuple[Limit, ...]:
        """Return every row in force on a day, in the order of the rule ids."""
        return tuple(self.limit(rule, on) for rule in sorted(self.rows) if self.has(rule, on))

    def _row_in_force(self, rule: str, on: date) -> Limit | None:
        begun = [row for row in self.rows.get(rule, ()) if row.valid_from <= on]
        return begun[-1] if begun else None

    def _silence(self, rule: Rule, row: Limit | None, on: date) -> str:
        if row is not None:
            return f"{self.name} fixes no {rule.meaning}: {row.note} Set the venue's own."
        return f"{self.name} has no row for {rule.meaning} on {on_day(on)}. Set the venue's own."


@dataclass(frozen=True, slots=True, kw_only=True)
class Code(LimitTable):
    """What one jurisdiction demands. `deference` is printed wherever the code is quoted."""

    edition: str
    jurisdiction: str
    deference: str
    allergen_regime: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Regime(LimitTable):
    """One allergen list: its limits, and what is owed for a drink poured from a keg."""

    poured_drink_duty: str
    source: str
    section: str
    verified: str


@cache
def codes() -> Mapping[str, Code]:
    """Return every code on file by its key."""
    return load_codes(SHARED / "codes")


def code(key: str) -> Code:
    """Return one code; MissingRule names those on file."""
    try:
        return codes()[key]
    except KeyError:
        known = ", ".join(sorted(codes()))
        raise MissingRule(f'"{key}" is no code on file. Known: {known}.') from None


@cache
def rules() -> Mapping[str, Rule]:
    """Return what each rule id means, by rule id."""
    return load_rules(SHARED / "codes")


@cache
def regimes() -> Mapping[str, Regime]:
    """Return every allergen list by its key."""
    return load_regimes(SHARED / "codes")


def said(value: Decimal, unit: str) -> str:
    """Return a number with its unit as a person reads it; a unit not known here stands as typed.

    >>> said(Decimal("5.000"), "degC")
    '5 °C'
    """
    return _SAID.get(unit, f"{{}} {unit}").format(f"{value.normalize():f}")


def load_rules(directory: Path) -> Mapping[str, Rule]:
    """Read rules.csv of a folder of codes; BadRuleData names what is wrong."""
    found: dict[str, Rule] = {}
    for row in read_rows(directory / "rules.csv", _RULE_COLUMNS):
        rule = _rule(row)
        if rule.rule in found:
            raise row.wrong("rule", "a rule id that no row above has")
        found[rule.rule] = rule
    return MappingProxyType(found)


def load_regimes(directory: Path) -> Mapping[str, Regime]:
    """Read the allergen lists of a folder of codes and the limits that belong to each."""
    limit_rows: dict[str, list[Row]] = defaultdict(list)
    rows = read_rows(directory / "regimes.csv", _REGIME_COLUMNS)
    keys = [row.text("key") for row in rows]
    for row in read_rows(directory / "regime_limits.csv", ("regime", *_LIMIT_COLUMNS)):
        limit_rows[row.one_of("regime", keys)].append(row)
    meanings = load_rules(directory)
    return MappingProxyType(
        {row.text("key"): _regime(row, limit_rows[row.text("key")], meanings) for row in rows}
    )


def load_codes(directory: Path) -> Mapping[str, Code]:
    """Read every code of a folder: rules.csv, the allergen lists, and one folder per code.

    Raises BadRuleData, naming file, row or key and what was expected.
    """
    folders = sorted(path for path in directory.iterdir() if path.is_dir())
    if not folders:
        raise BadRuleData(f"{place_of(directory)}: no code. Expected one folder per code.")
    meanings, regimes_on_file = load_rules(directory), load_regimes(directory)
    return MappingProxyType(
        {folder.name: _code(folder, meanings, regimes_on_file) for folder in folders}
    )


def _rule(row: Row) -> Rule:
    row.text("source")
    row.verified()
    unit = row.one_of("unit", UNITS)
    words = row.keys("words")
    if bool(words) != (unit == WORD):
        raise row.wrong("words", 'words where the unit is "word", and none elsewhere')
    return Rule(
        rule=row.text("rule"),
        meaning=row.text("meaning"),
        unit=unit,
        stricter=row.one_of("stricter", ("none",) if unit == WORD else ("smaller", "larger")),
        words=words,
    )


def _regime(row: Row, limit_rows: list[Row], meanings: Mapping[str, Rule]) -> Regime:
    return Regime(
        key=row.text("key"),
        name=row.text("name"),
        rows=_dated(limit_rows, meanings),
        meanings=meanings,
        poured_drink_duty=row.text("poured_drink_duty"),
        source=row.text("source"),
        section=row.optional("section"),
        verified=row.verified(),
    )


def _code(
    folder: Path, meanings: Mapping[str, Rule], regimes_on_file: Mapping[str, Regime]
) -> Code:
    path = folder / "code.toml"
    about = _about(path)
    expected = {"key": (folder.name,), "allergen_regime": tuple(regimes_on_file)}
    for key, choices in expected.items():
        if about[key] not in choices:
            raise BadRuleData(
                f'{place_of(path)}, "{key}": found "{about[key]}". '
                f"Expected one of: {', '.join(choices)}."
            )
    shared_rows = regimes_on_file[about["allergen_regime"]].rows
    own = _dated(read_rows(folder / "limits.csv", _LIMIT_COLUMNS), meanings, shared_rows)
    return Code(rows=MappingProxyType({**shared_rows, **own}), meanings=meanings, **about)


def _about(path: Path) -> dict[str, str]:
    try:
        found = tomllib.loads(read_text(path))
    except tomllib.TOMLDecodeError as error:
        raise BadRuleData(f"{place_of(path)}: {error}. Expected TOML.") from error
    for key in sorted({*found, *_CODE_KEYS}):
        if key not in _CODE_KEYS:
            expected = ", ".join(_CODE_KEYS)
            raise BadRuleData(f'{place_of(path)}: unknown key "{key}". Expected {expected}.')
        if not isinstance(found.get(key), str) or not found[key].strip():
            raise BadRuleData(f'{place_of(path)}, "{key}": expected a text between quotes.')
    return found


def _dated(
    rows: tuple[Row, ...] | list[Row],
    meanings: Mapping[str, Rule],
    taken: Mapping[str, object] = MappingProxyType({}),
) -> Mapping[str, tuple[Limit, ...]]:
    """Sort limits by rule and first day; a rule the allergen list owns may not come again."""
    found: dict[str, dict[date, Limit]] = defaultdict(dict)
    for row in rows:
        limit = _limit(row, meanings)
        if limit.rule in taken:
            raise row.wrong("rule", "a rule that its allergen list does not already fix")
        if limit.valid_from in found[limit.rule]:
            raise row.wrong("valid_from", f"one row per day for {limit.rule}")
        found[limit.rule][limit.valid_from] = limit
    return MappingProxyType(
        {rule: tuple(by_day[day] for day in sorted(by_day)) for rule, by_day in found.items()}
    )


def _limit(row: Row, meanings: Mapping[str, Rule]) -> Limit:
    rule = meanings.get(row.optional("rule"))
    if rule is None:
        raise row.wrong("rule", "a rule id that stands in rules.csv")
    return Limit(
        rule=rule.rule,
        valid_from=row.day("valid_from"),
        value=_value(row, rule),
        unit=row.one_of("unit", (rule.unit,)),
        source=row.text("source"),
        section=row.optional("section"),
        verified=row.verified(),
        note=row.optional("note"),
    )


def _value(row: Row, rule: Rule) -> Decimal | str:
    """Return the value; an empty cell says the code is silent, and must say why."""
    if not row.optional("value"):
        row.text("note")
        return ""
    return row.one_of("value", rule.words) if rule.unit == WORD else row.number("value")
