"""From facts about allergenic sources to what each allergen list declares.

A fact is stored once per source (wheat, almond); each list's words follow from tables. What is
not known is never absent, and no deliberate amount is too small to declare, except sulphites.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from kegsafe.rules.allergen_lists import (
    AllergenSource,
    Exemption,
    allergen_sources,
    entry_of,
    exemptions,
    processes,
    sources,
)
from kegsafe.rules.codes import regimes
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.sulphite import SulphiteAmount, sulphite_declared

__all__ = [
    "AllergenFact",
    "AllergenSource",
    "Declaration",
    "Declared",
    "State",
    "SulphiteAmount",
    "allergen_sources",
    "cross_contact",
    "declare",
    "exemption_of",
    "merge",
    "state_in",
]

SULPHITE = "sulphite"  # declared by amount, never by the fact alone


class State(StrEnum):
    """What is known of a source in a food. The order of the members is the order of weight."""

    CONTAINS = "contains"
    MAY_CONTAIN = "may_contain"
    NOT_KNOWN = "not_known"
    EXEMPT_BY_PROCESS = "exempt_by_process"
    FREE_BY_SUPPLIER = "free_by_supplier"


_WEIGHT = {state: place for place, state in enumerate(State)}


@dataclass(frozen=True, slots=True)
class AllergenFact:
    """What is known of one source in one ingredient.

    `exemption` is the key of a process of shared/allergens/processes.csv, for facts that are
    exempt by process; each list decides for itself what the process is worth. `from_what`
    names the ingredient or the equipment it comes from.
    """

    source: str
    state: State
    exemption: str | None
    from_what: str

    def __post_init__(self) -> None:
        if self.source not in sources():
            raise ValueError(f'"{self.source}" is no allergenic source on file.')


@dataclass(frozen=True, slots=True)
class Declared:
    """One source as a list names it, and what it comes from.

    `entries` are the list's own names; none for a source outside the list.
    """

    source: str
    entries: tuple[str, ...]
    display_name: str
    member: str
    from_what: tuple[str, ...]

    @property
    def entry(self) -> str:
        """Return the first of the list's names, or nothing."""
        return self.entries[0] if self.entries else ""


@dataclass(frozen=True, slots=True)
class Declaration:
    """What one allergen list says of a drink.

    `also_contains` are sources outside this list that another list names, and sources exempt
    by law that are still in the drink; `for_information` are on no list at all.
    """

    regime: str
    contains: tuple[Declared, ...]
    may_contain: tuple[Declared, ...]
    not_known: tuple[Declared, ...]
    also_contains: tuple[Declared, ...]
    for_information: tuple[Declared, ...]
    statement: str
    findings: tuple[Finding, ...]


def merge(facts: Iterable[AllergenFact]) -> tuple[AllergenFact, ...]:
    """Return the union of facts, without those a graver fact of the same source makes idle.

    A fact that is exempt by process stays beside 'may contain' and 'not known': another list
    may not exempt it. Nothing that was done to the drink later takes a source away.
    """
    by_source: dict[str, set[AllergenFact]] = defaultdict(set)
    for fact in facts:
        by_source[fact.source].add(fact)
    kept = (fact for group in by_source.values() for fact in group if not _is_idle(fact, group))
    return tuple(sorted(kept, key=_reading_order))


def declare(
    facts: Iterable[AllergenFact], regime: str, so2: SulphiteAmount | None, on: date
) -> Declaration:
    """Return what an allergen list (a key of codes.regimes()) says of a drink on a day.

    `so2` is the drink's SO2; None is not known, and sulphites are then declared. Facts about
    the source 'sulphite' only name where it comes from.

    Raises KeyError for an unknown list.
    """
    allergen_list = regimes()[regime]
    by_source: dict[str, list[AllergenFact]] = defaultdict(list)
    for fact in sorted(facts, key=_reading_order):
        by_source[fact.source].append(fact)
    sulphite_facts = by_source.pop(SULPHITE, [])
    judged = [_judge(group, regime, on) for group in by_source.values()]
    amount = so2 or SulphiteAmount(None)
    sulphite = sulphite_declared(allergen_list, amount.mg_per_l, amount.density_kg_per_l, on)
    contains = [one.declared for one in judged if one.place == "contains"]
    if sulphite.declared:
        contains.append(_declared(SULPHITE, regime, _names(sulphite_facts)))
    places = {
        place: tuple(one.declared for one in judged if one.place == place)
        for place in ("may_contain", "not_known", "also_contains", "for_information")
    }
    return Declaration(
        regime=regime,
        contains=tuple(contains),
        **places,
        statement=_statement(allergen_list.name, tuple(contains), **places),
        findings=(*(finding for one in judged for finding in one.findings), sulphite.finding),
    )


def state_in(fact: AllergenFact, regime: str, on: date) -> State:
    """Return what a fact is worth on one list: a process it does not name exempts nothing."""
    if fact.state is not State.EXEMPT_BY_PROCESS:
        return fact.state
    exemption = exemption_of(fact, regime, on)
    if exemption is None:
        return State.CONTAINS
    return State.EXEMPT_BY_PROCESS if exemption.effect == "exempt" else State.NOT_KNOWN


def exemption_of(fact: AllergenFact, regime: str, on: date) -> Exemption | None:
    """Return the row of a list that speaks of the fact's process on a day; exempt goes first."""
    rows = [
        row
        for row in exemptions()
        if row.regime == regime
        and row.valid_from <= on
        and fact.exemption in row.processes
        and fact.source in row.sources
    ]
    return min(rows, key=lambda row: row.effect, default=None)


def cross_contact(residue_sources: Iterable[str], drink_sources: Iterable[str]) -> frozenset[str]:
    """Return the sources that equipment would bring into a drink that does not declare them."""
    return frozenset(residue_sources) - frozenset(drink_sources)


# Judging one source


@dataclass(frozen=True, slots=True)
class _Judged:
    """One source on one list: where in the declaration it stands, and what to say of it."""

    place: str
    declared: Declared
    findings: tuple[Finding, ...]


def _judge(facts: list[AllergenFact], regime: str, on: date) -> _Judged:
    states = {fact: state_in(fact, regime, on) for fact in facts}
    gravest = min(states.values(), key=_WEIGHT.__getitem__)
    behind = [fact for fact in facts if states[fact] is gravest]
    declared = _declared(facts[0].source, regime, _names(behind))
    findings = [
        finding
        for fact, state in states.items()
        for finding in _exemption_findings(fact, state, regime, on)
    ]
    if gravest is State.NOT_KNOWN:
        findings.append(_not_known(declared))
    return _Judged(_place(declared, gravest, behind), declared, tuple(findings))


def _place(declared: Declared, gravest: State, behind: list[AllergenFact]) -> str:
    if gravest is State.CONTAINS:
        return "contains" if declared.entries else _outside(declared)
    if gravest is State.EXEMPT_BY_PROCESS:
        still_there = any(processes()[fact.exemption or ""].still_there for fact in behind)
        return _outside(declared) if still_there else "exempt"
    return gravest.value


def _outside(declared: Declared) -> str:
    """A source this list does not name is shown all the same."""
    on_some_list = sources()[declared.source].is_on_any_list()
    return "also_contains" if on_some_list else "for_information"


def _declared(source: str, regime: str, from_what: tuple[str, ...]) -> Declared:
    about = sources()[source]
    entries = about.entries[regime]
    return Declared(source, entries, _display_name(about, regime), about.name, from_what)


def _display_name(about: AllergenSource, regime: str) -> str:
    """Return 'Almond (tree nut)' for a named member, else the list's own word."""
    rows = [entry_of(regime, entry) for entry in about.entries[regime]]
    kinds = [row.kind for row in rows if row.kind]
    if kinds:
        return f"{_capitalised(about.name)} ({'; '.join(kinds)})"
    return _capitalised(rows[0].display_name if rows else about.name)


def _exemption_findings(
    fact: AllergenFact, state: State, regime: str, on: date
) -> Iterable[Finding]:
    exemption = exemption_of(fact, regime, on) if fact.state is State.EXEMPT_BY_PROCESS else None
    if exemption is None or state is not State.EXEMPT_BY_PROCESS:
        return
    process = processes()[fact.exemption or ""]
    condition = f" Condition: {exemption.condition}." if exemption.condition else ""
    yield Finding(
        exemption.id,
        Severity.NOTE,
        f"{_capitalised(sources()[fact.source].name)} in {fact.from_what} is not declared: "
        f"{process.label}.{condition}",
        exemption.citation,
        exemption.verified,
    )


def _not_known(declared: Declared) -> Finding:
    return Finding(
        "allergens.not_known",
        Severity.ASK,
        f"Whether {', '.join(declared.from_what)} brings in {declared.member} is not known.",
        "house rule: what is not known is never absent",
    )


def _is_idle(fact: AllergenFact, group: set[AllergenFact]) -> bool:
    """Say whether another fact of the source outweighs this one on every list."""
    states = {other.state for other in group}
    if State.CONTAINS in states:
        return fact.state is not State.CONTAINS
    if fact.state is State.EXEMPT_BY_PROCESS:
        return False
    return any(_WEIGHT[state] < _WEIGHT[fact.state] for state in states)


def _reading_order(fact: AllergenFact) -> tuple[int, int, str, str]:
    place = list(sources()).index(fact.source)
    return place, _WEIGHT[fact.state], fact.from_what, fact.exemption or ""


def _names(facts: Iterable[AllergenFact]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(fact.from_what for fact in facts))


# Words


def _statement(
    list_name: str,
    contains: tuple[Declared, ...],
    may_contain: tuple[Declared, ...],
    not_known: tuple[Declared, ...],
    also_contains: tuple[Declared, ...],
    for_information: tuple[Declared, ...],
) -> str:
    sentences = [
        f"Contains: {_listed(contains, _display)}."
        if contains
        else f"No allergen of the {list_name} list is recorded as an ingredient."
    ]
    for opening, declared, words in (
        ("May contain", may_contain, _display),
        ("Not known, ask before serving", not_known, _with_origin),
        (f"Not on the {list_name} list but in the drink", also_contains, _display),
        ("On no allergen list but in the drink", for_information, _display),
    ):
        if declared:
            sentences.append(f"{opening}: {_listed(declared, words)}.")
    return " ".join(sentences)


def _listed(declared: tuple[Declared, ...], words: Callable[[Declared], str]) -> str:
    return ", ".join(words(each) for each in declared)


def _display(declared: Declared) -> str:
    return declared.display_name


def _with_origin(declared: Declared) -> str:
    return f"{declared.display_name} from {' and '.join(declared.from_what)}"


def _capitalised(name: str) -> str:
    return name[:1].upper() + name[1:]
