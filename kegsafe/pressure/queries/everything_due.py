"""Everything due on pressure equipment, each with its reason: what other rooms ask for.

Inspection pack and readiness call `everything_due`. Page, calendar, command and audit are made
of the same rows of `register`, and all dates come from the one rule `kegsafe.rules.pressure.due`.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from kegsafe.pressure.queries.facts import Owner
from kegsafe.pressure.queries.register import RegisterRow, register
from kegsafe.rules.pressure.due import ASKS_FOR_WORK, Due, DueState, urgency
from kegsafe.venues.models import Venue


@dataclass(frozen=True, slots=True)
class DueOn:
    """One answer of the rule, and the item or keg that it is about.

    `due` carries what is due, from which day (None: no day is known), the reason in words, the
    rule it comes from, how well that is known, and who decides. `row` is the thing itself:
    kind, name, serial number, room, whether it may be used.
    """

    row: RegisterRow
    due: Due

    @property
    def owner(self) -> Owner:
        """Return ("item", key) or ("keg", key)."""
        return self.row.owner

    @property
    def thing(self) -> str:
        """Return what it is due on, such as 'Relief valve V1'."""
        return f"{self.row.kind_label} {self.row.name}"

    @property
    def day(self) -> str:
        """Return the day as 2026-04-07, 'not known' where there is none."""
        return self.due.due_on.isoformat() if self.due.due_on else "not known"


def everything_due(
    venue: Venue, today: date, states: Collection[DueState] = ASKS_FOR_WORK
) -> tuple[DueOn, ...]:
    """Return what is due at a venue with its reasons, the most urgent first: four queries.

    states : which answers are wanted; left out, what is overdue or not known and so treated as
        due. `set(DueState)` gives every answer, those that lie far ahead too.

    Things that are scrapped are not in it; things out of service are.
    """
    return dues_in(register(venue, today), states)


def dues_in(
    rows: Iterable[RegisterRow], states: Collection[DueState] = ASKS_FOR_WORK
) -> tuple[DueOn, ...]:
    """Return the same of rows of the register that are at hand; no query."""
    found = [DueOn(row, each) for row in rows for each in row.dues if each.state in states]
    return tuple(sorted(found, key=_order))


def _order(each: DueOn) -> tuple[object, ...]:
    row = each.row
    return (*urgency(each.due), row.kind, len(row.name), row.name, each.due.check)
