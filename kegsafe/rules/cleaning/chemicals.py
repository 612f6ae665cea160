"""Cleaning chemicals as the label and the delivery describe them, and whether one may be used."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from kegsafe.rules.cleaning.limits import Active
from kegsafe.rules.cleaning.vocabulary import Chemistry
from kegsafe.rules.findings import Finding, Severity

LABEL = "Label of the product"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChemicalFacts:
    """One batch of one product, or hot water. Strengths are of the working solution, mg/l.

    `expires_on` None with `does_not_expire` False is 'not recorded'. `needs_rinse` is the
    label's word on a rinse after use; None when nobody has read it. The label's ends of pH
    and hardness matter only where they go further than the code's.
    """

    name: str
    chemistry: Chemistry
    is_listed: bool
    active: Active | None = None
    batch: str = ""
    expires_on: date | None = None
    does_not_expire: bool = False
    label_at_least_mg_per_l: Decimal | None = None
    label_at_most_mg_per_l: Decimal | None = None
    label_contact_s: Decimal | None = None
    label_at_least_degc: Decimal | None = None
    label_at_most_degc: Decimal | None = None
    label_ph_at_most: Decimal | None = None
    label_hardness_at_most_mg_per_l: Decimal | None = None
    needs_rinse: bool | None = None

    @property
    def is_hot_water(self) -> bool:
        """Whether it is no chemical at all: no label, no batch, nothing to expire."""
        return self.active is Active.HOT_WATER

    @property
    def is_acid(self) -> bool:
        """Whether chlorine must never meet it."""
        return self.chemistry is Chemistry.ACID or self.active is Active.PEROXYACETIC_ACID


HOT_WATER = ChemicalFacts(
    name="Hot water",
    chemistry=Chemistry.SANITISER,
    is_listed=True,
    active=Active.HOT_WATER,
    does_not_expire=True,
    needs_rinse=False,
)


def chemical_findings(chemical: ChemicalFacts, on: date) -> Iterator[Finding]:
    """Yield what stands against using a chemical on a day: unlisted, expired, not read."""
    if not chemical.is_listed:
        yield _finding(
            "cleaning.chemical_not_listed",
            Severity.STOP,
            f"{chemical.name} is not on the venue's list of cleaning chemicals. Clean again with "
            "a listed one.",
        )
    if chemical.expires_on is not None and chemical.expires_on < on:
        yield _finding(
            "cleaning.chemical_expired",
            Severity.STOP,
            f"{_named(chemical)} expired on {chemical.expires_on}; it was used on {on}. Clean "
            "again with one in date.",
        )
    elif chemical.expires_on is None and not chemical.does_not_expire:
        yield _finding(
            "cleaning.chemical_expiry_not_recorded",
            Severity.ASK,
            f"The expiry of {_named(chemical)} is not on record. Copy it from the container.",
        )


def label_silent(chemical: ChemicalFacts, what: str) -> Finding:
    """Return the question about something the label says and nobody has copied."""
    return Finding(
        "cleaning.label_not_recorded",
        Severity.ASK,
        f"The {what} on the label of {chemical.name} is not on record. Copy it from the container.",
        LABEL,
        "venue",
    )


def _named(chemical: ChemicalFacts) -> str:
    return f"{chemical.name} (batch {chemical.batch})" if chemical.batch else chemical.name


def _finding(rule: str, severity: Severity, statement: str) -> Finding:
    return Finding(rule, severity, statement, "Record of the cleaning chemicals", "record")
