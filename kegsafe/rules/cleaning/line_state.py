"""May anything be poured from this line? From the events of its cleaning, and nothing else.

Between 'detergent in' and a rinse proved at every tap, the answer is no. No event takes that
back but the proof itself: not the end of the cycle, not time, not a phone that died.

Two phones may record at once, and one may send late. So a proof takes back only what the
person had in front of them when they read the pH: it names the last event it had seen. A
detergent recorded after that, or dated after the reading, is still in.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from kegsafe.rules.findings import Finding, Severity


class LineEventKind(StrEnum):
    """What happened to a line while it was cleaned."""

    CLEANING_BEGAN = "cleaning_began"
    DETERGENT_IN = "detergent_in"  # recorded before it goes in; acid counts as well
    RINSE_READ = "rinse_read"
    SANITISER_IN = "sanitiser_in"
    DRAINED = "drained"
    CLEANING_ENDED = "cleaning_ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineEvent:
    """One event, as it was stored.

    `sequence` is the order in which the line's records were stored, unique and rising, given
    under a lock on the line so that nobody sees a later one first; `at` is the time the person
    gave. `seen` is the sequence of the last event that the page had shown; None takes nothing
    back. `is_verified` is the verdict of `rinse_proof` on a rinse that was read.
    """

    kind: LineEventKind
    at: datetime
    sequence: int
    cycle: str
    seen: int | None = None
    is_verified: bool = False


class LineCondition(StrEnum):
    """What a line holds, as far as its cleaning goes."""

    READY = "ready"
    UNDER_CLEANING = "under_cleaning"
    DETERGENT_IN = "detergent_in"
    SANITISER_IN = "sanitiser_in"
    RINSE_VERIFIED = "rinse_verified"


@dataclass(frozen=True, slots=True)
class LineState:
    """The condition of a line, since when, and the cycle that brought it there."""

    condition: LineCondition
    since: datetime | None
    cycle: str | None

    @property
    def may_pour(self) -> bool:
        """Whether its cleaning leaves the line free to pour from."""
        return self.condition in (LineCondition.READY, LineCondition.RINSE_VERIFIED)

    def findings(self, line: str) -> tuple[Finding, ...]:
        """Return what the pour check says of it: a stop, a question, or nothing."""
        severity, words = _SAID[self.condition]
        if severity is None:
            return ()
        return (
            Finding(
                f"line.{self.condition.value}",
                severity,
                f"{line} {words}",
                "Record of the cleaning",
                "record",
            ),
        )


_SAID: dict[LineCondition, tuple[Severity | None, str]] = {
    LineCondition.READY: (None, ""),
    LineCondition.UNDER_CLEANING: (
        Severity.STOP,
        "is under cleaning. Do not pour: finish the cycle, or record that it was given up.",
    ),
    LineCondition.DETERGENT_IN: (
        Severity.STOP,
        "holds detergent. Do not pour, do not taste: rinse it, and record the pH at every tap.",
    ),
    LineCondition.SANITISER_IN: (
        Severity.STOP,
        "holds sanitiser. Do not pour: drain it, and record that it was drained.",
    ),
    LineCondition.RINSE_VERIFIED: (
        Severity.ASK,
        "was rinsed and the rinse is proved, but its cycle is not finished. Finish and record it.",
    ),
}


def line_state(events: Iterable[LineEvent]) -> LineState:
    """Return the condition of a line from its events, in whatever order they are handed over.

    Events of one line alone; no event at all is a line nobody is cleaning. Once the line is
    ready, the events so far may be left out from then on: no later chemical is taken out by an
    earlier proof.
    """
    stored = sorted(events, key=lambda event: event.sequence)
    for condition, kind in (
        (LineCondition.DETERGENT_IN, LineEventKind.DETERGENT_IN),
        (LineCondition.SANITISER_IN, LineEventKind.SANITISER_IN),
    ):
        still_in = [event for event in stored if event.kind is kind and _is_in(event, stored)]
        if still_in:
            return LineState(condition, still_in[0].at, still_in[0].cycle)
    return _without_chemical(stored)


def _is_in(chemical: LineEvent, stored: list[LineEvent]) -> bool:
    return not any(_takes_out(event, chemical) for event in stored)


def _takes_out(event: LineEvent, chemical: LineEvent) -> bool:
    """Whether an event proves that a chemical is out: recorded later, dated later, seen."""
    if event.kind is LineEventKind.DRAINED:
        proves = chemical.kind is LineEventKind.SANITISER_IN
    else:
        proves = event.kind is LineEventKind.RINSE_READ and event.is_verified
    return (
        proves
        and event.sequence > chemical.sequence
        and event.at >= chemical.at
        and event.seen is not None
        and event.seen >= chemical.sequence
    )


def _without_chemical(stored: list[LineEvent]) -> LineState:
    """Return the state of a line that holds drink or water: a cycle under way, or none."""
    ended = {event.cycle for event in stored if event.kind is LineEventKind.CLEANING_ENDED}
    open_events = [event for event in stored if event.cycle not in ended]
    if not open_events:
        return LineState(LineCondition.READY, stored[-1].at if stored else None, None)
    proved = [event for event in open_events if event.is_verified]
    if proved and _all_proved(open_events):
        return LineState(LineCondition.RINSE_VERIFIED, proved[-1].at, proved[-1].cycle)
    return LineState(LineCondition.UNDER_CLEANING, open_events[0].at, open_events[0].cycle)


def _all_proved(open_events: list[LineEvent]) -> bool:
    """Whether each cycle under way has its own proved rinse."""
    return {event.cycle for event in open_events} == {
        event.cycle for event in open_events if event.is_verified
    }
