"""Cleaning plans: the steps of a cycle, how each is proved, and how often it is owed.

A plan of shared/cleaning is where a venue starts. Its figures are rows of guidance.csv and
intervals.csv, so each limit keeps what stands behind it; a venue's own copy has its own.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType

from kegsafe.rules.cleaning.guidance import CLEANING, Bound, Citation, citation_of, guidance
from kegsafe.rules.cleaning.intervals import Interval, load_intervals
from kegsafe.rules.cleaning.vocabulary import (
    Application,
    Chemistry,
    DrinkKind,
    Equipment,
    LimitFrom,
    StepKind,
    Verification,
)
from kegsafe.rules.tables import Row, read_rows

_PLAN_COLUMNS = (
    "key",
    "name",
    "equipment",
    "drinks",
    "steps",
    "intervals",
    "is_allergen_clean",
    "second_person",
    "basis",
    "source",
    "section",
    "verified",
    "note",
)
_STEP_COLUMNS = (
    "steps",
    "position",
    "kind",
    "instruction",
    "chemistry",
    "strength",
    "temperature",
    "contact",
    "application",
    "flow",
    "verification",
    "cautions",
    "basis",
    "source",
    "section",
    "verified",
)
_CAUTION_COLUMNS = ("key", "text", "source", "verified")


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt at a step, printed at the step."""

    key: str
    text: str
    source: str
    verified: str


@dataclass(frozen=True, slots=True)
class Contact:
    """How long the solution works when it is applied in one way."""

    application: Application
    bound: Bound | None  # None where the code and the label say how long


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanStep:
    """One step of a plan.

    `strength_from` and `temperature_from` say who sets the limit: the plan's own bound, the
    label, the food code, or nobody. `ph_tolerance` is set where the step ends with the pH
    back at the tap water's own.
    """

    position: int
    kind: StepKind
    instruction: str
    citation: Citation
    chemistry: Chemistry | None = None
    strength_from: LimitFrom = LimitFrom.NOBODY
    strength: Bound | None = None
    temperature_from: LimitFrom = LimitFrom.NOBODY
    temperature: Bound | None = None
    contacts: tuple[Contact, ...] = ()
    flow: Bound | None = None
    verification: Verification = Verification.NONE
    ph_tolerance: Bound | None = None
    cautions: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Return how a finding calls it: 'step 3, detergent'."""
        return f"step {self.position}, {self.kind.in_words}"

    def contact_for(self, application: Application) -> Contact | None:
        """Return the contact time for one way of applying; None where the plan has not that."""
        return next((each for each in self.contacts if each.application is application), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Approval:
    """Who allowed what the plan is looser in: the authority, its paper, the day, and why."""

    authority: str
    reference: str
    approved_on: date
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Steps and intervals for one kind of equipment and drink.

    `without_sanitising` is what a plan rests on that leaves its sanitise step out.
    """

    key: str
    name: str
    equipment: Equipment
    drinks: frozenset[DrinkKind]
    steps: tuple[PlanStep, ...] = field(repr=False)
    intervals: tuple[Interval, ...] = field(repr=False)
    is_allergen_clean: bool
    needs_second_person: bool
    citation: Citation
    note: str = ""
    without_sanitising: Approval | None = None

    def step(self, position: int) -> PlanStep | None:
        """Return a step by its place in the plan."""
        return next((step for step in self.steps if step.position == position), None)

    def suits(self, equipment: Equipment, drink: DrinkKind) -> bool:
        """Whether the plan is for this kind of equipment with this kind of drink."""
        return equipment is self.equipment and bool(self.drinks & {DrinkKind.ANY, drink})


def plans() -> Mapping[str, Plan]:
    """Return every starter plan by its key."""
    return load_plans(CLEANING)


def cautions() -> Mapping[str, Caution]:
    """Return every caution by its key."""
    return load_cautions(CLEANING / "cautions.csv")


@cache
def load_cautions(path: Path) -> Mapping[str, Caution]:
    """Read the cautions of a file; BadRuleData names row and column of what is wrong."""
    return MappingProxyType(
        {
            row.text("key"): Caution(
                row.text("key"), row.text("text"), row.text("source"), row.verified()
            )
            for row in read_rows(path, _CAUTION_COLUMNS)
        }
    )


@cache
def load_plans(directory: Path) -> Mapping[str, Plan]:
    """Read plans.csv of a folder with its steps and intervals; BadRuleData names what is wrong."""
    steps = _load_steps(directory)
    intervals = load_intervals(directory / "intervals.csv")
    found: dict[str, Plan] = {}
    for row in read_rows(directory / "plans.csv", _PLAN_COLUMNS):
        plan = _plan(row, steps, intervals)
        if plan.key in found:
            raise row.wrong("key", "a key that no plan above has")
        found[plan.key] = plan
    return MappingProxyType(found)


def _plan(
    row: Row, steps: Mapping[str, tuple[PlanStep, ...]], intervals: Mapping[str, Interval]
) -> Plan:
    drinks = row.keys("drinks")
    if not drinks or not set(drinks) <= set(DrinkKind):
        raise row.wrong("drinks", "one or more of: " + ", ".join(DrinkKind))
    unknown = [key for key in row.keys("intervals") if key not in intervals]
    if unknown or not row.keys("intervals"):
        raise row.wrong("intervals", "rule ids that stand in intervals.csv")
    return Plan(
        key=row.text("key"),
        name=row.text("name"),
        equipment=Equipment(row.one_of("equipment", tuple(Equipment))),
        drinks=frozenset(DrinkKind(drink) for drink in drinks),
        steps=steps[row.one_of("steps", tuple(steps))],
        intervals=tuple(intervals[key] for key in row.keys("intervals")),
        is_allergen_clean=row.flag("is_allergen_clean"),
        needs_second_person=row.flag("second_person"),
        citation=citation_of(row),
        note=row.optional("note"),
    )


def _load_steps(directory: Path) -> Mapping[str, tuple[PlanStep, ...]]:
    known_cautions = load_cautions(directory / "cautions.csv")
    found: dict[str, list[PlanStep]] = {}
    for row in read_rows(directory / "plan_steps.csv", _STEP_COLUMNS):
        steps = found.setdefault(row.text("steps"), [])
        if row.whole_number("position") != len(steps) + 1:
            raise row.wrong("position", f"{len(steps) + 1}, the next step of {row.text('steps')}")
        if not set(row.keys("cautions")) <= set(known_cautions):
            raise row.wrong("cautions", "keys that stand in cautions.csv")
        steps.append(_step(row))
    return {name: tuple(steps) for name, steps in found.items()}


def _step(row: Row) -> PlanStep:
    strength_from, strength = _limit(row, "strength", "mg/l")
    temperature_from, temperature = _limit(row, "temperature", "degC")
    verification = Verification(row.one_of("verification", tuple(Verification)))
    chemistry = row.one_of("chemistry", ("", *Chemistry))
    checks_ph = verification is Verification.TAP_WATER_PH
    return PlanStep(
        position=row.whole_number("position"),
        kind=StepKind(row.one_of("kind", tuple(StepKind))),
        instruction=row.text("instruction"),
        citation=citation_of(row),
        chemistry=Chemistry(chemistry) if chemistry else None,
        strength_from=strength_from,
        strength=strength,
        temperature_from=temperature_from,
        temperature=temperature,
        contacts=_contacts(row),
        flow=_bound(row, "flow", row.optional("flow"), "l/min") if row.optional("flow") else None,
        verification=verification,
        ph_tolerance=guidance("cleaning.ph_tolerance") if checks_ph else None,
        cautions=row.keys("cautions"),
    )


def _limit(row: Row, column: str, unit: str) -> tuple[LimitFrom, Bound | None]:
    """Return who sets a limit, and the plan's own bound where the plan does."""
    cell = row.optional(column)
    if not cell:
        return LimitFrom.NOBODY, None
    if cell in (LimitFrom.LABEL, LimitFrom.CODE):
        return LimitFrom(cell), None
    return LimitFrom.PLAN, _bound(row, column, cell, unit)


def _contacts(row: Row) -> tuple[Contact, ...]:
    ways = row.keys("application")
    if not set(ways) <= set(Application):
        raise row.wrong("application", "one or more of: " + ", ".join(Application))
    cells = row.keys("contact")
    if cells == (LimitFrom.CODE,) or not cells:
        return tuple(Contact(Application(way), None) for way in ways)
    if len(cells) != len(ways):
        raise row.wrong("contact", "one rule id for each way of applying, or the word code")
    return tuple(
        Contact(Application(way), _bound(row, "contact", cell, "s"))
        for way, cell in zip(ways, cells, strict=True)
    )


def _bound(row: Row, column: str, rule: str, unit: str) -> Bound:
    try:
        bound = guidance(rule)
    except KeyError:
        raise row.wrong(column, "a rule id that stands in guidance.csv") from None
    if bound.unit != unit:
        raise row.wrong(column, f"a rule in {unit}; this one is in {bound.unit}")
    return bound
