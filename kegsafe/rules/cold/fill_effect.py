"""What the temperatures a drink stood in do to it: by its code, with the times and the numbers.

Time above the limit only adds up. Nothing sets it back: not chilling again, not a new keg, a
new label or more gas. What nobody read is asked about, and a date may be shortened, never
lengthened.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from kegsafe.rules.codes import MissingRule
from kegsafe.rules.cold.excursions import ColdRecord, Excursion
from kegsafe.rules.cold.tables import Counting, counting, figure
from kegsafe.rules.date_candidates import Candidate, limit_if_any
from kegsafe.rules.degrees import degrees
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.limits import EffectiveLimit
from kegsafe.rules.moments import at_moment

_HOUR_S = 3600


@dataclass(frozen=True, slots=True)
class Stay:
    """Time a drink stood in one place, and what was read there in that time.

    `record` is cut to the stay; its limit and the accuracy of its thermometer are in it already.
    """

    place: str
    is_chilled: bool
    from_s: int
    until_s: int
    record: ColdRecord

    @property
    def unknown_s(self) -> int:
        """Return the seconds of the stay nobody read."""
        return self.record.unknown_s

    @property
    def above_s(self) -> int:
        """Return the seconds of the stay that count as above; unread ones too in a warm place."""
        unread = self.unknown_s if not self.is_chilled else 0
        return self.record.above_s + unread


@dataclass(frozen=True, slots=True)
class History:
    """Where a drink stood since it was made, in order; seconds of the epoch.

    `carried_above_s` is the longest time above the limit that any of its parts brought along.
    """

    from_s: int
    until_s: int
    stays: tuple[Stay, ...]
    carried_above_s: int = 0

    @property
    def above_s(self) -> int:
        """Return all seconds that count as above the limit, those of the parts too."""
        return self.carried_above_s + sum(stay.above_s for stay in self.stays)

    @property
    def unplaced_s(self) -> int:
        """Return the seconds for which no place is on record."""
        placed, reached = 0, self.from_s
        for stay in sorted(self.stays, key=lambda stay: stay.from_s):
            begins = max(stay.from_s, reached)
            placed += max(0, min(stay.until_s, self.until_s) - begins)
            reached = max(reached, stay.until_s)
        return self.until_s - self.from_s - placed

    @property
    def unknown_s(self) -> int:
        """Return the seconds nobody can speak for, in cold places and outside any place."""
        return self.unplaced_s + sum(stay.unknown_s for stay in self.stays if stay.is_chilled)

    @property
    def periods(self) -> tuple[tuple[int, int], ...]:
        """Return each period above the limit; one that goes on in the next place is one."""
        spans = sorted(span for stay in self.stays for span in _spans(stay))
        joined: list[tuple[int, int]] = []
        for begins, ends, goes_on in spans:
            if joined and goes_on and begins <= joined[-1][1]:
                joined[-1] = (joined[-1][0], max(ends, joined[-1][1]))
            else:
                joined.append((begins, ends))
        return tuple(joined)

    @property
    def warmest(self) -> Excursion | None:
        """Return the excursion with the warmest reading."""
        found = [each for stay in self.stays for each in stay.record.excursions]
        return max(found, key=lambda each: each.warmest_centi_degc, default=None)


def _spans(stay: Stay) -> Iterator[tuple[int, int, bool]]:
    """Yield the periods of a stay: begin, end, and whether it began above the limit already."""
    for each in stay.record.excursions:
        yield each.from_s, each.until_s, each.begins_above
    if not stay.is_chilled:
        for gap in stay.record.gaps:
            if not gap.counts_as_above:
                yield gap.from_s, gap.until_s, True


def longest_gap_s(interval_s: int | None) -> int:
    """Return how far two readings may stand apart before the time between is not known.

    interval_s : seconds between readings of a logger, 1 or more; None for readings by hand

    Source: house values of shared/cold/practice.csv.
    """
    if interval_s is None:
        return int(figure("readings.gap_by_hand").value * _HOUR_S)
    if interval_s < 1:
        raise ValueError(f"interval_s must be 1 or more, got {interval_s}.")
    return int(interval_s * figure("readings.gap_factor").value)


def effect(history: History, house: House, on: date, *, is_tcs: bool) -> tuple[Finding, ...]:
    """Return what a drink's temperatures mean under the venue's code, each with its numbers.

    on : the day whose rules judge
    is_tcs : treated as food that needs time/temperature control; not decided counts as True
    """
    findings = [*_missing(history, house)]
    if history.above_s == 0:
        if not findings:
            findings.append(_in_order(history))
        return tuple(findings)
    if not is_tcs:
        return (*findings, _quality(history))
    try:
        way = counting(house.code.key, on)
    except MissingRule as silence:
        return (*findings, Finding("excursion.counting", Severity.ASK, str(silence), "shared/cold"))
    return (
        *findings,
        *_by_ceiling(history, house, on),
        _by_total(history, house, on),
        *_by_code(history, house, way, on),
    )


def shortened_use_by(use_by: datetime, charged_beyond_clock_h: float) -> Candidate | None:
    """Return the date left after warm hours are charged for what they let grow; None: no change.

    The growth relation compares temperatures alone; a venue may choose to let it shorten a date.

    use_by : aware
    charged_beyond_clock_h : from `hours_charged_above_the_clock`, 0 or more; ValueError below

    >>> friday = datetime(2026, 4, 10, 18, 0, tzinfo=UTC)
    >>> shortened_use_by(friday, 35.1).ends_at.isoformat()
    '2026-04-09T06:54:00+00:00'
    """
    if charged_beyond_clock_h < 0:
        raise ValueError(f"Hours charged must be 0 or more, got {charged_beyond_clock_h}.")
    if charged_beyond_clock_h == 0:
        return None
    taken = timedelta(seconds=-(-charged_beyond_clock_h * _HOUR_S // 1))
    ends_at = (use_by.astimezone(UTC) - taken).astimezone(use_by.tzinfo)
    return Candidate(
        ends_at=ends_at,
        rule="excursion.growth",
        because=f"Warm hours cost {charged_beyond_clock_h:.1f} h more than the clock shows, as "
        "growth at 5 °C counts them: they are taken off the date.",
        source="Ratkowsky et al. 1982, J. Bacteriol. 154:1222-1226; taking it off is a house rule",
        verified="house",
    )


def _missing(history: History, house: House) -> Iterator[Finding]:
    if history.unplaced_s:
        yield _venue(
            "excursion.no_place",
            Severity.ASK,
            f"For {_time(history.unplaced_s)} it is not on record where this drink stood: hold it "
            "until the manager has decided.",
        )
    for stay in history.stays:
        if stay.is_chilled and stay.unknown_s:
            yield _gap_finding(stay, house)


def _gap_finding(stay: Stay, house: House) -> Finding:
    gaps = [gap for gap in stay.record.gaps if not gap.counts_as_above]
    first = gaps[0]
    longest = max(gap.seconds for gap in gaps)
    return _venue(
        "excursion.not_known",
        Severity.ASK,
        f"{stay.place} was not read for {_time(stay.unknown_s)} in all while this drink stood "
        f"there, first from {_local(first.from_s, house)}. An unread hour is not a cold hour: "
        "hold it until the manager has decided.",
        (("not read", _time(stay.unknown_s)), ("longest", _time(longest))),
    )


def _in_order(history: History) -> Finding:
    whole = history.until_s - history.from_s
    return _venue(
        "excursion.none",
        Severity.NOTE,
        f"No reading above the limit in the {_time(whole)} since it was made.",
    )


def _quality(history: History) -> Finding:
    return _venue(
        "excursion.quality",
        Severity.WARN,
        f"{_time(history.above_s)} above the limit. On record this drink needs no temperature "
        "control: a matter of quality.",
        _evidence(history),
    )


def _by_ceiling(history: History, house: House, on: date) -> Iterator[Finding]:
    warmest, ceiling = history.warmest, limit_if_any(house, "excursion.ceiling", on)
    if warmest is not None and ceiling is not None and warmest.warmest_degc > ceiling.value:
        statement = (
            f"Warmest reading {degrees(warmest.warmest_degc)}, above {degrees(ceiling.value)}: "
            "discard it whatever the time."
        )
        yield _judged(ceiling, Severity.STOP, statement, history)


def _by_total(history: History, house: House, on: date) -> Finding:
    """Judge all time added up against the two times of the code."""
    discard = limit_if_any(house, "excursion.discard_from", on)
    rechill = limit_if_any(house, "excursion.rechill_before", on)
    total = f"{_time(history.above_s)} above the limit in all"
    if discard is None or rechill is None:
        statement = f"{total}, and no time on file decides what follows."
        return _venue("excursion.no_limit", Severity.ASK, statement, _evidence(history))
    most, least = discard.limit.in_words, rechill.limit.in_words
    if history.above_s >= discard.value * _HOUR_S:
        statement = f"{total}: from {most} on it is discarded. Chilling it again changes nothing."
        return _judged(discard, Severity.STOP, statement, history)
    if history.above_s >= rechill.value * _HOUR_S:
        statement = (
            f"{total}, {least} or more: used now or not at all, not chilled again. Discard at "
            f"{most}."
        )
        return _judged(rechill, Severity.ASK, statement, history)
    statement = f"{total}, less than {least}: chill it at once and record what was done."
    return _judged(rechill, Severity.WARN, statement, history)


def _by_code(history: History, house: House, way: Counting, on: date) -> Iterator[Finding]:
    """Add what the code itself says about a period above its limit."""
    if way.counting == "single_period":
        yield from _single_period(history, house, way, on)
        return
    severity = Severity.NOTE if way.counting == "cumulative" else Severity.WARN
    yield Finding(
        "excursion.counting",
        severity,
        f"{house.code.name}: {way.words}.",
        way.citation,
        way.verified,
    )


def _single_period(history: History, house: House, way: Counting, on: date) -> Iterator[Finding]:
    tolerance = limit_if_any(house, "cold_holding.tolerance", on)
    periods = history.periods
    longest = max((ends - begins for begins, ends in periods), default=0)
    if len(periods) > 1:
        yield Finding(
            "cold_holding.tolerance",
            Severity.ASK,
            f"{len(periods)} periods above the limit, the last from "
            f"{_local(periods[-1][0], house)}: only one is covered. The manager decides.",
            way.citation,
            way.verified,
            _evidence(history),
        )
    if tolerance is not None and longest >= tolerance.value * _HOUR_S:
        yield _judged(
            tolerance,
            Severity.STOP,
            f"One period of {_time(longest)} above the limit; less than "
            f"{tolerance.limit.in_words} is covered, for service or display alone. Use or "
            "discard: it is not put out a second time.",
            history,
        )
    elif len(periods) == 1:
        yield Finding(
            "cold_holding.tolerance",
            Severity.WARN,
            f"One period of {_time(longest)} above the limit: covered only if it was for service "
            "or display, and it is the only one this drink may have.",
            way.citation,
            way.verified,
            _evidence(history),
        )


def _judged(limit: EffectiveLimit, severity: Severity, statement: str, history: History) -> Finding:
    return Finding(
        limit.limit.rule, severity, statement, limit.citation, limit.verified, _evidence(history)
    )


def _venue(
    rule: str, severity: Severity, statement: str, evidence: Sequence[tuple[str, str]] = ()
) -> Finding:
    return Finding(rule, severity, statement, "Record of this venue", "record", tuple(evidence))


def _evidence(history: History) -> tuple[tuple[str, str], ...]:
    numbers = [("above the limit", _time(history.above_s)), ("periods", str(len(history.periods)))]
    if history.carried_above_s:
        numbers.append(("of that, brought by a part", _time(history.carried_above_s)))
    warmest = history.warmest
    if warmest is not None:
        numbers.append(("warmest", degrees(warmest.warmest_degc)))
        excursions = [each for stay in history.stays for each in stay.record.excursions]
        line_s = round(sum(each.line_s for each in excursions))
        numbers.append(("along straight lines, for information", _time(line_s)))
    return tuple(numbers)


def _local(at_s: int, house: House) -> str:
    return at_moment(datetime.fromtimestamp(at_s, house.zone))


def _time(seconds: int) -> str:
    """Return a time in hours and whole minutes, a begun minute counted.

    >>> _time(6600), _time(61), _time(14400)
    ('1 h 50 min', '2 min', '4 h')
    """
    minutes = -(-seconds // 60)
    hours, rest = divmod(minutes, 60)
    parts = ([f"{hours} h"] if hours else []) + ([f"{rest} min"] if rest or not hours else [])
    return " ".join(parts)
