"""What a rule says: findings, how much each weighs, and the outcome they add up to."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs. The order of the members is the order of the screen."""

    STOP = "stop"  # the drink may not be poured
    ASK = "ask"  # evidence is missing, late or doubtful: a manager decides
    WARN = "warn"  # worth knowing; does not change the outcome
    NOTE = "note"  # what was looked at and found in order, with its numbers


class Outcome(StrEnum):
    """The three answers to 'may I pour this?'."""

    POUR = "pour"
    ASK = "ask"
    STOP = "stop"


_WEIGHT = {severity: place for place, severity in enumerate(Severity)}


@dataclass(frozen=True, slots=True)
class Finding:
    """One reason, in words that label, page and report all use.

    `rule` is the id of a row in shared/ or of a rule of this program
    (dotted, lower case); `source` names document and section, or says
    'common practice, no source'; `verified` is read, second-hand, memory,
    house, venue, record or computed. `evidence` holds the numbers that went in, as
    label and text pairs. `headline` is how much of the statement is enough
    where it is read at arm's length; nothing where all of it is.
    """

    rule: str
    severity: Severity
    statement: str
    source: str
    verified: str = "house"
    evidence: tuple[tuple[str, str], ...] = ()
    headline: str = ""

    @property
    def in_short(self) -> str:
        """Return what is read first."""
        return self.headline or self.statement

    def as_json(self) -> dict[str, object]:
        """Return the finding as the command and the stored record print it."""
        return {
            "rule": self.rule,
            "severity": self.severity.value,
            "statement": self.statement,
            "source": self.source,
            "verified": self.verified,
            "evidence": dict(self.evidence),
        }


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort findings for reading: what stops the pour first, what was in order last."""
    return tuple(sorted(findings, key=lambda finding: _WEIGHT[finding.severity]))


def outcome_of(findings: Iterable[Finding]) -> Outcome:
    """Return the gravest outcome; no finding at all is no evidence, so 'ask'."""
    severities = {finding.severity for finding in findings}
    if Severity.STOP in severities:
        return Outcome.STOP
    if Severity.ASK in severities or not severities:
        return Outcome.ASK
    return Outcome.POUR
