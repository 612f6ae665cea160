"""May this lot be drawn from? Accepted, not on hold, in date: otherwise the reason why not."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from kegsafe.rules.date_candidates import Candidate
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.facts import House, LotStatus, Part
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.lot_dates import dates_in_stock
from kegsafe.rules.moments import at_moment

_STATUS_WORDS = {
    LotStatus.REJECTED: "was rejected on arrival",
    LotStatus.ON_HOLD: "is on hold",
    LotStatus.DISCARDED: "was discarded",
}


def draw_checks(part: Part, house: House, now: datetime) -> tuple[Finding, ...]:
    """Return why a lot may not be drawn now (stop), or must be asked about (ask).

    The lot is judged by the rules in force today, at the venue, with every lot
    behind it: a preparation is no better than what went into it.
    """
    findings = [*status_findings(part), *_behind_it(part)]
    dates = dates_in_stock(part, house, day_one(now, house.zone, None))
    past = [candidate for candidate in dates.candidates if candidate.ends_at < now]
    findings += [
        _past_its_date(part, candidate)
        for candidate in sorted(past, key=lambda each: each.ends_at)[:1]
    ]
    return (*findings, *dates.findings)


def _past_its_date(part: Part, candidate: Candidate) -> Finding:
    ended = f"{part.name} ended {at_moment(candidate.ends_at)}."
    return Finding(
        "lot.past_its_date",
        Severity.STOP,
        f"{ended} {candidate.because}",
        candidate.source,
        candidate.verified,
        headline=ended,
    )


def _behind_it(part: Part) -> Iterator[Finding]:
    """What is left of a lot may be thrown away for no fault; a lot found bad is put on hold."""
    for lot in part.behind:
        if lot.status is not LotStatus.DISCARDED:
            for finding in status_findings(lot):
                yield replace(finding, statement=f"{finding.statement} It went into {part.name}.")


def status_findings(part: Part) -> tuple[Finding, ...]:
    """Return a stop when the lot was rejected, is on hold or was discarded."""
    if part.status is LotStatus.ACCEPTED:
        return ()
    reason = f": {part.status_reason}" if part.status_reason else ""
    return (
        Finding(
            "lot.not_accepted",
            Severity.STOP,
            f"{part.name} {_STATUS_WORDS[part.status]}{reason}.",
            "Record of the lot",
            "record",
        ),
    )
