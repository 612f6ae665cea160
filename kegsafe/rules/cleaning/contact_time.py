"""How long a step still has to run: from its start and the clock, so a timer cannot be lost."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from kegsafe.rules.cleaning.chemicals import ChemicalFacts
from kegsafe.rules.cleaning.limits import SanitiserRow, sanitiser_tables
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.vocabulary import Application


@dataclass(frozen=True, slots=True)
class Timer:
    """A running step. Times are aware; seconds are whole."""

    started_at: datetime
    least_s: int
    most_s: int | None

    @property
    def done_at(self) -> datetime:
        """Return when the least time is over."""
        return self.started_at + timedelta(seconds=self.least_s)

    @property
    def too_long_at(self) -> datetime | None:
        """Return when it has stood too long; None where nothing sets an end."""
        return None if self.most_s is None else self.started_at + timedelta(seconds=self.most_s)

    def left_s(self, now: datetime) -> int:
        """Return the whole seconds still to wait, rounded up; 0 when done."""
        left = self.done_at - now
        whole = left // timedelta(seconds=1)
        return max(0, whole + (1 if left % timedelta(seconds=1) else 0))


def least_contact_s(
    step: PlanStep, application: Application, chemical: ChemicalFacts, code: str, on: date
) -> Decimal | None:
    """Return the contact time to wait for: the longest of plan, code and label, s.

    The strength is not known yet when a timer starts, so the longest of the code's rows for
    the chemical counts. None where none of the three gives a time.
    """
    contact = step.contact_for(application)
    given = [
        contact.bound.minimum if contact and contact.bound else None,
        chemical.label_contact_s,
        *(row.contact_s for row in _code_rows(chemical, code, on)),
    ]
    return max((each for each in given if each is not None), default=None)


def _code_rows(chemical: ChemicalFacts, code: str, on: date) -> list[SanitiserRow]:
    return [
        row
        for table in sanitiser_tables(code, on)
        for row in table
        if chemical.active in row.actives
    ]
