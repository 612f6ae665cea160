"""Whether a thermometer may be believed: in ice, in boiling water, and since when not.

A check that fails throws doubt on every reading since the last good one, for good. A check
that is missing or late throws doubt until a good one comes. In a stretch of doubt the
thermometer is taken to read too cold by all the code allows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from kegsafe.rules.codes import MissingRule
from kegsafe.rules.cold.tables import figure
from kegsafe.rules.degrees import degrees, degrees_apart
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.limits import effective_limit
from kegsafe.rules.moments import on_day
from kegsafe.science.boiling_point import (
    boiling_point_at_altitude,
    boiling_point_at_pressure,
)


class Method(StrEnum):
    """What the thermometer was held in."""

    ICE_POINT = "ice_point"
    BOILING_POINT = "boiling_point"


class Result(StrEnum):
    """What a check shows."""

    GOOD = "good"
    FAILED = "failed"
    NOT_SHOWN = "not_shown"


@dataclass(frozen=True, slots=True)
class Check:
    """One check of one thermometer.

    Attributes
    ----------
    checked_at : aware
    read_degc : what the thermometer showed
    altitude_m : of the place, -500 to 4500; needed for boiling water without a barometer
    air_bar_abs : pressure of the air in the room, not reduced to sea level, 0.5 to 1.1
    """

    checked_at: datetime
    method: Method
    read_degc: Decimal
    altitude_m: float | None = None
    air_bar_abs: float | None = None


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a thermometer may be off, either way, and who says so."""

    degc: Decimal
    source: str
    verified: str


@dataclass(frozen=True, slots=True)
class JudgedCheck:
    """A check with what should have been read. `expected_degc` is None when nobody can say."""

    check: Check
    expected_degc: Decimal | None
    uncertainty_degc: Decimal
    deviation_degc: Decimal | None
    result: Result
    finding: Finding


class Cause(StrEnum):
    """Why readings are doubtful."""

    FAILED = "failed"
    LATE = "late"
    NEVER_CHECKED = "never_checked"
    NO_THERMOMETER = "no_thermometer"


@dataclass(frozen=True, slots=True)
class Doubt:
    """A stretch in which readings are doubtful. None: since ever, or up to now."""

    from_at: datetime | None
    until_at: datetime | None
    cause: Cause

    def covers(self, at: datetime) -> bool:
        """Say whether a reading was taken in it, its two ends left out: a check stood there."""
        after = self.from_at is None or at > self.from_at
        return after and (self.until_at is None or at < self.until_at)

    def meets(self, from_at: datetime, until_at: datetime) -> bool:
        """Say whether some moment between two lies in it."""
        begins = self.from_at is None or self.from_at < until_at
        return begins and (self.until_at is None or self.until_at > from_at)


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of a thermometer at a moment."""

    last_good_at: datetime | None
    due_at: datetime | None
    is_overdue: bool
    has_failed: bool
    doubts: tuple[Doubt, ...]
    findings: tuple[Finding, ...]

    @property
    def is_believed(self) -> bool:
        """Say whether its last check was good and the next is not overdue."""
        return self.last_good_at is not None and not self.is_overdue and not self.has_failed

    def is_doubtful(self, at: datetime) -> bool:
        """Say whether a reading taken at a moment is doubtful."""
        return any(doubt.covers(at) for doubt in self.doubts)

    def accuracy_degc(self, tolerance: Tolerance) -> Decimal:
        """Return what is added to its readings before they are held against a limit."""
        return Decimal(0) if self.is_believed else tolerance.degc


def tolerance(house: House, on: date, *, is_air: bool) -> Tolerance:
    """Return how far a food or an air thermometer may be off under the venue's code."""
    rule = "thermometer.air_accuracy" if is_air else "thermometer.food_accuracy"
    try:
        limit = effective_limit(house.code, rule, on, house.local_limits)
    except MissingRule:
        own = figure("thermometer.air_accuracy" if is_air else "thermometer.accuracy")
        return Tolerance(own.value, own.source, own.verified)
    return Tolerance(limit.value, limit.citation, limit.verified)


def judge(check: Check, allowed: Tolerance) -> JudgedCheck:
    """Return what a check shows.

    In boiling water the true figure is known to 0.1 degC with a barometer and to 0.5 degC from
    the altitude: a deviation that only that could explain away, or bring about, shows nothing.

    Raises OutsideRange for an altitude or a pressure no bar has.
    """
    expected = _expected(check)
    if expected is None:
        statement = (
            "Water boils at a different temperature at each altitude: give the altitude or the "
            "pressure of the air, or check in ice."
        )
        finding = _finding(Severity.ASK, statement, allowed, ())
        return JudgedCheck(check, None, Decimal(0), None, Result.NOT_SHOWN, finding)
    true_degc, uncertain = expected
    deviation = check.read_degc - true_degc
    result = _result(abs(deviation), uncertain, allowed.degc)
    return JudgedCheck(
        check, true_degc, uncertain, deviation, result, _said(result, check, expected, allowed)
    )


def _expected(check: Check) -> tuple[Decimal, Decimal] | None:
    """Return the true temperature to a hundredth, and how far that may be off."""
    if check.method is Method.ICE_POINT:
        return Decimal(0), Decimal(0)
    if check.air_bar_abs is not None:
        point = boiling_point_at_pressure(check.air_bar_abs)
    elif check.altitude_m is not None:
        point = boiling_point_at_altitude(check.altitude_m)
    else:
        return None
    return Decimal(f"{point.temperature_degc:.2f}"), Decimal(str(point.uncertainty_degc))


def _result(off: Decimal, uncertain: Decimal, allowed: Decimal) -> Result:
    if off + uncertain <= allowed:
        return Result.GOOD
    return Result.FAILED if off - uncertain > allowed else Result.NOT_SHOWN


def _said(
    result: Result, check: Check, expected: tuple[Decimal, Decimal], allowed: Tolerance
) -> Finding:
    true_degc, uncertain = expected
    where = "ice water" if check.method is Method.ICE_POINT else "boiling water"
    read = f"In {where} it read {degrees(check.read_degc)}; {degrees(true_degc)} is right"
    within = f"{degrees_apart(allowed.degc)} either way is allowed"
    endings = {
        Result.GOOD: (Severity.NOTE, f"{read}, and {within}."),
        Result.FAILED: (
            Severity.STOP,
            f"{read}, and {within}. Take it out of use or adjust it and check again; what it "
            "read since its last good check is doubtful.",
        ),
        Result.NOT_SHOWN: (
            Severity.ASK,
            f"{read} give or take {degrees_apart(uncertain)}, and {within}: this check cannot "
            "tell. Check it in ice, or with a barometer.",
        ),
    }
    severity, statement = endings[result]
    evidence = (("read", degrees(check.read_degc)), ("right", degrees(true_degc)))
    return _finding(severity, statement, allowed, evidence)


def standing(
    checks: Sequence[Check], now: datetime, allowed: Tolerance, every_days: int | None = None
) -> Standing:
    """Return what a thermometer's checks say at a moment.

    Parameters
    ----------
    checks : any order; those after `now` are left out
    now : aware
    every_days : days from one good check to the next, 1 or more; None: the house's figure

    A check that shows nothing neither helps nor harms.
    """
    judged = [judge(check, allowed) for check in sorted(checks, key=lambda each: each.checked_at)]
    past = [each for each in judged if each.check.checked_at <= now]
    good = [each.check.checked_at for each in past if each.result is Result.GOOD]
    telling = [each for each in past if each.result is not Result.NOT_SHOWN]
    has_failed = bool(telling) and telling[-1].result is Result.FAILED
    days = int(figure("thermometer.check_every").value) if every_days is None else every_days
    due_at = _days_later(good[-1], days) if good else None
    is_overdue = due_at is not None and now > due_at
    return Standing(
        last_good_at=good[-1] if good else None,
        due_at=due_at,
        is_overdue=is_overdue,
        has_failed=has_failed,
        doubts=(*_doubts(telling), *_unchecked(telling, due_at, is_overdue)),
        findings=_standing_findings(telling, has_failed, due_at, is_overdue),
    )


def _days_later(moment: datetime, days: int) -> datetime:
    if days < 1:
        raise ValueError(f"every_days must be 1 or more, got {days}.")
    return (moment.astimezone(UTC) + timedelta(days=days)).astimezone(moment.tzinfo)


def _doubts(telling: Sequence[JudgedCheck]) -> tuple[Doubt, ...]:
    """Return a doubt for each run of failures, from the good check before to the one after."""
    doubts: list[Doubt] = []
    last_good: datetime | None = None
    is_failing = False
    for each in telling:
        if each.result is Result.FAILED:
            is_failing = True
            continue
        if is_failing:
            doubts.append(Doubt(last_good, each.check.checked_at, Cause.FAILED))
        last_good, is_failing = each.check.checked_at, False
    if is_failing:
        doubts.append(Doubt(last_good, None, Cause.FAILED))
    return tuple(doubts)


def _unchecked(
    telling: Sequence[JudgedCheck], due_at: datetime | None, is_overdue: bool
) -> Iterator[Doubt]:
    """Yield the doubt that a missing or late check throws; a good check to come lifts it."""
    if not telling:
        yield Doubt(None, None, Cause.NEVER_CHECKED)
    elif is_overdue and telling[-1].result is Result.GOOD:
        yield Doubt(due_at, None, Cause.LATE)


def _standing_findings(
    telling: Sequence[JudgedCheck], has_failed: bool, due_at: datetime | None, is_overdue: bool
) -> tuple[Finding, ...]:
    if has_failed:
        return (telling[-1].finding,)
    if due_at is None:
        return (
            _note(
                Severity.ASK,
                "Not checked: this thermometer was never held in ice or in boiling water, so its "
                "readings are doubtful.",
            ),
        )
    if is_overdue:
        return (
            _note(
                Severity.ASK,
                f"Not checked: the check of this thermometer was due {on_day(due_at)}, so its "
                "readings since then are doubtful. Check it in ice.",
            ),
        )
    return (_note(Severity.NOTE, f"Checked; the next check is due {on_day(due_at)}."),)


def no_thermometer() -> Finding:
    """Return the finding of a place for which no thermometer is on record."""
    return _note(
        Severity.ASK,
        "No thermometer is on record for this place, so nobody can say that it was checked: its "
        "readings are doubtful. They are taken as they stand.",
    )


def _note(severity: Severity, statement: str) -> Finding:
    every = figure("thermometer.check_every")
    return Finding("thermometer.check_every", severity, statement, every.source, every.verified)


def _finding(
    severity: Severity, statement: str, allowed: Tolerance, evidence: tuple[tuple[str, str], ...]
) -> Finding:
    return Finding(
        "thermometer.check", severity, statement, allowed.source, allowed.verified, evidence
    )
