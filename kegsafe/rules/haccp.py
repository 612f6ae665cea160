"""The steps of the work from the door to the glass, with a starter text for each.

The text is this program's and says so. It becomes a plan when the venue has made it its own:
Regulation (EC) 852/2004, Art. 5, asks for procedures of the business itself. [second-hand]
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from kegsafe.rules.tables import read_rows
from kegsafe.science.tables import SHARED

_YES_OR_NO = ("yes", "no")
TEXTS = (
    "hazards",
    "control",
    "critical_limits",
    "monitoring",
    "corrective_action",
    "verification",
    "records",
)
_STEP_COLUMNS = (
    *("step", "name", "hazards", "control", "is_critical", "critical_limits", "monitoring"),
    *("corrective_action", "verification", "records", "limits", "source", "section", "verified"),
)
_PRINCIPLE_COLUMNS = ("number", "principle", "asked_as", "source", "section", "verified")


@dataclass(frozen=True, slots=True)
class StarterStep:
    """A step with what this program suggests for it.

    `texts` by the names of `TEXTS`; `limits` are rules of the code whose numbers belong here.
    """

    step: str
    name: str
    texts: Mapping[str, str]
    is_critical: bool
    limits: tuple[str, ...]
    source: str
    verified: str


@dataclass(frozen=True, slots=True)
class Principle:
    """One of the seven principles, and which part of a step answers it."""

    number: int
    principle: str
    asked_as: str
    source: str
    verified: str


@cache
def starter_steps() -> Mapping[str, StarterStep]:
    """Return every step by its key, in the order of the work; BadRuleData names a wrong cell."""
    steps = {}
    for row in read_rows(SHARED / "haccp" / "steps.csv", _STEP_COLUMNS):
        steps[row.text("step")] = StarterStep(
            step=row.text("step"),
            name=row.text("name"),
            texts=MappingProxyType({name: row.text(name) for name in TEXTS}),
            is_critical=row.one_of("is_critical", _YES_OR_NO) == "yes",
            limits=tuple(row.optional("limits").split()),
            source=row.text("source"),
            verified=row.verified(),
        )
    return MappingProxyType(steps)


@cache
def principles() -> tuple[Principle, ...]:
    """Return the seven principles in their order."""
    return tuple(
        Principle(
            number=int(row.number("number")),
            principle=row.text("principle"),
            asked_as=row.text("asked_as"),
            source=f"{row.text('source')}, {row.text('section')}",
            verified=row.verified(),
        )
        for row in read_rows(SHARED / "haccp" / "principles.csv", _PRINCIPLE_COLUMNS)
    )
