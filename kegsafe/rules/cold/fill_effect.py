"""What the temperatures a drink stood in do to it: by its code, with the times and the numbers.

Time above the limit only adds up. Nothing sets it back: not chilling again, not a new keg, a
new label or more gas. What nobody read is asked about, and a date may be shortened, never
lengthened.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta

from kegsafe.rules.codes import MissingRule
from kegsafe.rules.cold.history import Counts, Decision, History, Stay, Unread
from kegsafe.rules.cold.tables import Counting, counting
from kegsafe.rules.date_candidates import Candidate, limit_if_any
from kegsafe.rules.degrees import degrees
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.limits import EffectiveLimit
from kegsafe.rules.moments import at_moment

OLD_READING = "cold_holding.old_reading"

_HOUR_S = 3600


def effect(history: History, house: House, on: date, *, is_tcs: bool) -> tuple[Finding, ...]:
    """Return what a drink's temperatures mean under the venue's code, each with its numbers.

    on : the day whose rules judge
    is_tcs : treated as food that needs time/temperature control; not decided counts as True
    """
    findings = [*_missing(history, house), *_counted_as_cold(history, house)]
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
        closed = [part for part in stay.undecided if not history.is_open(part)]
        if closed:
            yield _gap_finding(stay, closed, house)
        if len(closed) < len(stay.undecided):
            yield _not_read_now(stay, house)
        for part in stay.decided(Counts.HOLD):
            yield _held(stay, part, house)


def _gap_finding(stay: Stay, closed: Sequence[Unread], house: House) -> Finding:
    seconds = [part.seconds for part in closed]
    first = _local(closed[0].from_s, house)
    headline = f"{stay.place} was not read for {_time(sum(seconds))}, first from {first}."
    return _venue(
        "excursion.not_known",
        Severity.ASK,
        f"{headline} This drink stood there, and an unread hour is not a cold hour: hold it "
        "until the manager has looked and decided.",
        (("not read", _time(sum(seconds))), ("longest", _time(max(seconds)))),
        headline,
    )


def _not_read_now(stay: Stay, house: House) -> Finding:
    since = _local(stay.undecided[-1].from_s, house)
    return _venue(
        OLD_READING,
        Severity.ASK,
        f"{stay.place} was not read since {since}. An unread hour is not a cold hour: read it now.",
    )


def _held(stay: Stay, part: Unread, house: House) -> Finding:
    decision = part.decision
    assert decision is not None  # noqa: S101 - it is decided
    return _venue(
        "excursion.held",
        Severity.STOP,
        f"{stay.place} was not read from {_span(part, house)}, and {decision.by} holds what stood "
        f"there: {decision.found}",
        _looked(decision, house),
    )


def _counted_as_cold(history: History, house: House) -> Iterator[Finding]:
    """Say what stands on a manager's word, for as long as the drink is there."""
    for stay in history.stays:
        parts = stay.decided(Counts.COLD)
        if not parts:
            continue
        last = parts[-1].decision
        assert last is not None  # noqa: S101 - it is decided
        unread = _time(sum(part.seconds for part in parts))
        yield _venue(
            "excursion.counted_as_cold",
            Severity.WARN,
            f"{stay.place} was not read for {unread}, last from {_span(parts[-1], house)}. "
            f"{last.by} looked and counts it as cold: {last.found}",
            _looked(last, house),
        )


def _looked(decision: Decision, house: House) -> tuple[tuple[str, str], ...]:
    numbers = [("decided", at_moment(decision.at, house.zone))]
    if decision.measured_degc is not None:
        numbers.append(("drink measured", degrees(decision.measured_degc)))
    return tuple(numbers)


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
    rule: str,
    severity: Severity,
    statement: str,
    evidence: Sequence[tuple[str, str]] = (),
    headline: str = "",
) -> Finding:
    source = "Record of this venue"
    return Finding(rule, severity, statement, source, "record", tuple(evidence), headline)


def _evidence(history: History) -> tuple[tuple[str, str], ...]:
    numbers = [("above the limit", _time(history.above_s)), ("periods", str(len(history.periods)))]
    if history.decided_above_s:
        numbers.append(("of that, not read and counted as warm", _time(history.decided_above_s)))
    warmest = history.warmest
    if warmest is not None:
        numbers.append(("warmest", degrees(warmest.warmest_degc)))
        excursions = [each for stay in history.stays for each in stay.record.excursions]
        line_s = round(sum(each.line_s for each in excursions))
        numbers.append(("along straight lines, for information", _time(line_s)))
    return tuple(numbers)


def _local(at_s: int, house: House) -> str:
    return at_moment(datetime.fromtimestamp(at_s, house.zone))


def _span(part: Unread, house: House) -> str:
    return f"{_local(part.from_s, house)} to {_local(part.until_s, house)}"


def _time(seconds: int) -> str:
    """Return a time in hours and whole minutes, a begun minute counted.

    >>> _time(6600), _time(61), _time(14400)
    ('1 h 50 min', '2 min', '4 h')
    """
    minutes = -(-seconds // 60)
    hours, rest = divmod(minutes, 60)
    parts = ([f"{hours} h"] if hours else []) + ([f"{rest} min"] if rest or not hours else [])
    return " ".join(parts)
