"""Today, by role: what stops a pour, what ends, what is due, and where each is settled.

A part with nothing to say becomes a sentence about when it was last right, never silence.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max
from django.urls import reverse

from kegsafe.batches.models import Fill
from kegsafe.cleaning.models import CorrectiveAction, LatestCycles
from kegsafe.cleaning.queries import DuePiece
from kegsafe.readiness.facts import (
    JudgedKeg,
    Records,
    clean_due,
    failed_clean,
    failed_cycles,
    is_past_date,
    keg_address,
    keg_name,
    warm_place,
)
from kegsafe.readiness.models import SelfCheck
from kegsafe.recalls.queries import recalls
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.rules.findings import Outcome
from kegsafe.rules.moments import at_moment, on_day
from kegsafe.rules.readiness import Gap, Item, gaps_in
from kegsafe.venues.access import RECORDERS
from kegsafe.venues.models import Role

MOST_LINES = 4  # of what can wait; what stops a pour is always shown in full

# What the owner's page shows in parts of its own, and so does not repeat among the gaps.
_SHOWN_APART = frozenset(
    {
        "drinks.past_date",
        "drinks.without_date",
        "drinks.hold_undecided",
        "cold.excursion_open",
        "cleaning.overdue",
        "cleaning.corrective_open",
        "cleaning.corrective_unverified",
        "pressure.due",
    }
)


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to see to, and the page that settles it.

    `act` is what is done there, blank for a keg's pour check; `ends_at` is shown with the time
    left.
    """

    title: str
    detail: str
    address: str
    act: str
    ends_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the page: its lines, or, where there are none, what is in order and since when.

    `mark` is stop, ask or warn; `all_address` leads to the whole list. `is_whole` parts show
    every line here.
    """

    key: str
    heading: str
    mark: str
    lines: tuple[Line, ...]
    all_address: str
    calm: str = ""
    is_whole: bool = False

    @property
    def shown(self) -> tuple[Line, ...]:
        return self.lines if self.is_whole else self.lines[:MOST_LINES]

    @property
    def further(self) -> int:
        """Return how many lines stand on the whole list only."""
        return len(self.lines) - len(self.shown)


@dataclass(frozen=True, slots=True)
class Today:
    """The page of one person: the parts that ask for something, and those that are in order."""

    asking: tuple[Part, ...]
    in_order: tuple[Part, ...]
    tapped: tuple[JudgedKeg, ...]


def today(records: Records, role: str) -> Today:
    """Return what somebody in a role sees first, what is graver before what can wait."""
    may_record = role in RECORDERS
    parts = [part(records, may_record) for part in PARTS[Role(role)]]
    tapped = sorted(
        (judged for judged in records.kegs if judged[0].row["tap_name"]),
        key=lambda judged: (len(judged[0].row["tap_name"]), judged[0].row["tap_name"]),
    )
    return Today(
        asking=tuple(part for part in parts if part.lines),
        in_order=tuple(part for part in parts if not part.lines),
        tapped=tuple(tapped),
    )


# The drinks


def _stops(records: Records, may_record: bool) -> Part:
    """What is on hold waits for a decision and stands in a part of its own."""
    stopped = [
        judged
        for judged in records.kegs
        if judged[1].outcome is Outcome.STOP and not _is_held(judged)
    ]
    count = len(records.kegs)
    calm = "No keg holds a drink."
    if count:
        calm = f"Nothing stops a pour: {count} keg{'' if count == 1 else 's'} looked at just now."
    return Part(
        "stops",
        "Do not pour",
        "stop",
        tuple(map(_keg_line, stopped)),
        reverse("pour-search"),
        calm,
        is_whole=True,
    )


def _asks(records: Records, may_record: bool) -> Part:
    asking = [judged for judged in records.kegs if judged[1].outcome is Outcome.ASK]
    return Part(
        "asks",
        "Ask the manager before pouring",
        "ask",
        tuple(map(_keg_line, asking)),
        reverse("pour-search"),
        "No keg waits for a manager's word.",
    )


def _ends(records: Records, may_record: bool) -> Part:
    """Drinks whose last day is today or tomorrow by the venue's calendar."""
    zone = records.venue.zone
    tomorrow = records.now.astimezone(zone).date() + timedelta(days=1)
    dated = sorted(
        (
            judged
            for judged in records.kegs
            if judged[1].use_by is not None and not is_past_date(judged, records.now)
        ),
        key=lambda judged: judged[1].use_by,
    )
    soon = [judged for judged in dated if judged[1].use_by.astimezone(zone).date() <= tomorrow]
    calm = "No drink ends today or tomorrow."
    if dated and not soon:
        view, verdict = dated[0]
        calm = f"{calm} The next: {keg_name(view)}, {on_day(verdict.use_by.astimezone(zone))}."
    return Part(
        "ends",
        "Ends today or tomorrow",
        "warn",
        tuple(_ending(judged) for judged in soon),
        reverse("pour-search"),
        calm,
        is_whole=True,
    )


def _held(records: Records, may_record: bool) -> Part:
    lines = tuple(
        Line(each.name, _since(each.reason, each.since, records), each.address, "Decide")
        for each in records.held
    )
    return Part(
        "held",
        "On hold",
        "stop",
        lines,
        reverse("pour-search"),
        "No keg and no lot is on hold.",
        is_whole=True,
    )


def _is_held(judged: JudgedKeg) -> bool:
    return judged[0].row["state"] == Fill.State.ON_HOLD.value


def _keg_line(judged: JudgedKeg) -> Line:
    view, verdict = judged
    return Line(keg_name(view), verdict.reason, keg_address(view), "")


def _ending(judged: JudgedKeg) -> Line:
    view, verdict = judged
    return Line(keg_name(view), "", keg_address(view), "", verdict.use_by)


def _recalls(records: Records, may_record: bool) -> Part:
    """A recall or drill that goes on: there are few, and each is gone once it is closed."""
    open_ones = recalls(records.venue).filter(closed_at=None)
    lines = tuple(
        Line(
            f"{recall}: {recall.reason}",
            f"{recall.waiting} of {recall.pieces} pieces still to be looked for.",
            recall.get_absolute_url(),
            "Go on",
        )
        for recall in open_ones
    )
    heading, calm = "Recalls under way", "No recall is under way."
    return Part("recalls", heading, "stop", lines, reverse("recalls"), calm, is_whole=True)


# The cold


def _readings(records: Records, may_record: bool) -> Part:
    """One round reads all places, so one line asks for all of them."""
    zone = records.venue.zone
    today = records.now.astimezone(zone).date()
    unread = [
        place
        for place in records.read
        if place.last_read_at is None or place.last_read_at.astimezone(zone).date() < today
    ]
    names = ", ".join(place.name for place in unread)
    count = f"{len(unread)} of {len(records.read)}"
    line = Line(f"Not read today: {count} places", names, reverse("cold-round"), "Read them")
    return Part(
        "readings",
        "Temperatures",
        "ask",
        (line,) if unread else (),
        reverse("cold-round"),
        _last_read(records),
    )


def _excursions(records: Records, may_record: bool) -> Part:
    lines = tuple(
        _item_line(
            warm_place(each),
            records,
            "Record what was done",
            instead="" if may_record else reverse("cold-place", args=[each.place.pk]),
        )
        for each in records.warm
    )
    calm = f"No place is on record as too warm. {_last_read(records)}"
    return Part("excursions", "Too warm", "stop", lines, reverse("cold-round"), calm, is_whole=True)


def _last_read(records: Records) -> str:
    """Say which place was read longest ago."""
    if not records.read:
        return "No cold place is on the list."
    moments = [place.last_read_at for place in records.read if place.last_read_at is not None]
    if len(moments) < len(records.read):
        return "Not every place was ever read."
    return f"Each place was last read {at_moment(min(moments), records.venue.zone)} or later."


# The cleaning


def _cleans(records: Records, may_record: bool) -> Part:
    due = [
        piece
        for piece in records.pieces
        if piece.due.status in {DueStatus.OVERDUE, DueStatus.TODAY}
    ]
    lines = [_clean_line(piece, records, may_record) for piece in due]
    if not records.pieces:
        lines = [_no_plan(may_record)]
    return Part(
        "cleans",
        "To be cleaned today",
        "ask",
        tuple(lines),
        reverse("cleaning"),
        "" if lines else _last_cleaned(records),
    )


def _no_plan(may_record: bool) -> Line:
    why = "What is due follows from the venue's plans; nothing is ever due without one."
    act = "Choose plans" if may_record else ""
    return Line("No plan is in force for any piece", why, reverse("cleaning-plans"), act)


def _clean_line(piece: DuePiece, records: Records, may_record: bool) -> Line:
    address = clean_due(piece).address if may_record else reverse("cleaning")
    detail = f"{piece.plan.name}: {piece.due.reason}"
    return Line(piece.name, detail, address, "Begin the clean")


def _last_cleaned(records: Records) -> str:
    """Say when the last clean that counted was, and what is due next."""
    said = ["No clean is due today."]
    newest = LatestCycles.objects.filter(venue=records.venue).aggregate(
        at=Max("last_good__ended_at")
    )["at"]
    if newest is not None:
        said.append(f"The last one that counted: {at_moment(newest, records.venue.zone)}.")
    coming = next((piece for piece in records.pieces if piece.due.due_at is not None), None)
    if coming is not None:
        day = on_day(coming.due.due_at.astimezone(records.venue.zone))
        said.append(f"Next due: {coming.name}, {day}.")
    return " ".join(said)


def _corrective(records: Records, may_record: bool) -> Part:
    lines = []
    for cycle in records.cycles:
        item = failed_clean(cycle)
        if not cycle.is_answered:
            form = reverse("cycle-corrective", args=[cycle.pk]) if may_record else ""
            lines.append(Line(item.name, item.why, form or item.address, "Record what was done"))
        else:
            lines.append(Line(item.name, item.why, item.address, "Sign that it was done"))
    return Part(
        "corrective",
        "Corrective actions",
        "ask",
        tuple(lines),
        reverse("cycles"),
        "" if lines else _last_corrected(records),
    )


def _last_corrected(records: Records) -> str:
    """Say when the newest of the last weeks was taken; older ones stand in the log."""
    calm = "No corrective action on a clean is open."
    newest = (
        CorrectiveAction.objects.filter(cycle__in=failed_cycles(records.venue, records.now))
        .order_by("-acted_at")
        .first()
    )
    if newest is None:
        return calm
    return f"{calm} The last one: {at_moment(newest.acted_at, records.venue.zone)}."


# The owner's parts


def _gear(records: Records, may_record: bool) -> Part:
    """The same check due on many things is one line."""
    lines = tuple(
        Line(item.name, item.why, item.address, "Record the check") for item in records.gear_due
    )
    calm = "No check of pressure equipment is due."
    coming = min(
        (due.due_on for row in records.gear for due in row.dues if due.due_on), default=None
    )
    if not lines and coming is not None:
        calm = f"{calm} The next: {on_day(coming)}."
    heading = "Pressure equipment due, or not known"
    return Part("gear", heading, "warn", lines, reverse("pressure"), calm)


def _gaps(records: Records, may_record: bool) -> Part:
    """What the self-check finds beyond the other parts of the page."""
    found = gaps_in(records.facts, records.now)
    newest = SelfCheck.objects.filter(venue=records.venue).order_by("-checked_at").first()
    calm = "The self-check finds nothing beyond this page."
    if newest is not None:
        calm = f"{calm} Last recorded {at_moment(newest.checked_at, records.venue.zone)}."
    return Part(
        "gaps",
        "What an inspector would find besides",
        "warn",
        tuple(_gap_line(gap) for gap in found if gap.rule not in _SHOWN_APART),
        reverse("readiness"),
        calm,
    )


def _gap_line(gap: Gap) -> Line:
    names = ", ".join(item.name for item in gap.items[:3])
    further = f" and {gap.count - 3} more" if len(gap.items) > 3 else ""
    address = gap.items[0].address if len(gap.items) == 1 else ""
    return Line(gap.what, f"{names}{further}", address or reverse(gap.page), "Settle it")


def _item_line(item: Item, records: Records, act: str, *, instead: str = "") -> Line:
    detail = _since(item.why, item.since, records)
    return Line(item.name, detail, instead or item.address, act)


def _since(words: str, since: datetime | None, records: Records) -> str:
    if since is None:
        return words
    return f"{words.rstrip('. ')}. Since {at_moment(since, records.venue.zone)}."


_ON_THE_FLOOR = (_stops, _recalls, _held, _ends, _asks, _excursions, _cleans, _readings)
_READS = (_stops, _recalls, _held, _excursions, _ends, _corrective, _cleans, _readings)
_IN_CHARGE = (_stops, _recalls, _held, _excursions, _ends, _asks, _corrective, _cleans, _readings)

PARTS: dict[Role, tuple[Callable[[Records, bool], Part], ...]] = {
    Role.STAFF: _ON_THE_FLOOR,
    Role.MANAGER: _IN_CHARGE,
    Role.OWNER: (*_IN_CHARGE, _gear, _gaps),
    Role.INSPECTOR: _READS,
}
