"""How cold a chilled delivery came, held against the code's limit on arrival."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from kegsafe.rules.codes import MissingRule
from kegsafe.rules.cold.tables import receiving
from kegsafe.rules.cold.temperature_log import to_warmer_hundredth
from kegsafe.rules.degrees import degrees
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.limits import effective_limit

RULE = "receiving.temperature"


def arrival_findings(
    arrived_degc: Decimal | None, house: House, on: date, *, needs_chill: bool
) -> tuple[Finding, ...]:
    """Return what the temperature of a delivery means on the day it came.

    Parameters
    ----------
    arrived_degc : None when it was not taken; judged to the warmer hundredth
    needs_chill : whether the food is kept cold by the code; not decided counts as True
    """
    if not needs_chill:
        return ()
    if arrived_degc is None:
        return (
            _plain(
                Severity.ASK,
                "The temperature on arrival was not taken, and this is kept cold: nobody can say "
                "how cold it came.",
            ),
        )
    try:
        row = receiving(house.code.key, on)
        limit = effective_limit(house.code, row.limit_rule, on, house.local_limits)
    except MissingRule as silence:
        return (_plain(Severity.ASK, str(silence)),)
    arrived = to_warmer_hundredth(arrived_degc)
    read, most = degrees(arrived), degrees(limit.value)
    if arrived > limit.value:
        severity = Severity.STOP
        said = (
            f"It came at {read}, and {most} is the most: reject it, or hold it until the manager "
            "has decided."
        )
    else:
        severity, said = Severity.NOTE, f"It came at {read}; {most} is the most."
    own = limit.local is not None
    source, verified = (limit.citation, limit.verified) if own else (row.citation, row.verified)
    return (*limit.findings, Finding(RULE, severity, said, source, verified))


def refused_by(findings: Iterable[Finding]) -> Finding | None:
    """Return the finding that forbids accepting a delivery as it came; None: nothing does."""
    return next((each for each in findings if each.severity is Severity.STOP), None)


def _plain(severity: Severity, statement: str) -> Finding:
    return Finding(RULE, severity, statement, "Record of this venue", "record")
