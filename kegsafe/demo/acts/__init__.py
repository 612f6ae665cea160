"""What people of the scenario do: each act calls the service that a page would call.

An act of a file names its verb in `do`, its time in `at` and its person in `by`; all else are
the arguments of the function that carries it out.
"""

from collections.abc import Iterable
from datetime import datetime
from itertools import chain

from django.core.exceptions import ValidationError

from kegsafe.demo.acts.cleaning import CLEANING
from kegsafe.demo.acts.cold import COLD
from kegsafe.demo.acts.drinks import DRINKS
from kegsafe.demo.acts.inspection import INSPECTION
from kegsafe.demo.acts.pressure import PRESSURE
from kegsafe.demo.acts.readiness import READINESS
from kegsafe.demo.desk import Desk
from kegsafe.demo.moments import Moments
from kegsafe.demo.scenario import BadScenario, Table, Timeline
from kegsafe.quantities import UnreadableQuantity

ACTS = {**DRINKS, **CLEANING, **COLD, **PRESSURE, **READINESS, **INSPECTION}


def carry_out(desk: Desk, timelines: Iterable[Timeline]) -> None:
    """Carry out all timelines by the clock. Raises BadScenario naming the act that fails."""
    told = chain.from_iterable(_timed(timeline, desk.moments) for timeline in timelines)
    for moment, place, act in sorted(told, key=lambda each: each[0]):
        details = {key: value for key, value in act.items() if key not in ("do", "at", "by")}
        try:
            ACTS[act["do"]](desk, moment, desk.by(act["by"]), **details)
        except (
            ValidationError,
            UnreadableQuantity,
            BadScenario,
            KeyError,
            TypeError,
            ValueError,
        ) as wrong:
            raise BadScenario(f"{desk.venue}, {place} ({act.get('do')}): {wrong}") from wrong


def _timed(timeline: Timeline, moments: Moments) -> list[tuple[datetime, str, Table]]:
    """Return each act with its moment; one without a time follows on the act before it."""
    timed: list[tuple[datetime, str, Table]] = []
    for number, act in enumerate(timeline.acts, 1):
        place = f"{timeline.name}, act {number}"
        try:
            before = timed[-1][0] if timed else moments.now
            moment = moments.at(act["at"]) if "at" in act else before
        except ValueError as wrong:
            raise BadScenario(f"{place} ({act.get('do')}): {wrong}") from wrong
        timed.append((moment, place, act))
    return timed
