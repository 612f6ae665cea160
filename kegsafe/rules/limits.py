"""A venue's own limits beside its code's: stricter at will, looser only with approval on file."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from kegsafe.rules.codes import WORD, Limit, LimitTable, MissingRule, said
from kegsafe.rules.findings import Finding, Severity


@dataclass(frozen=True, slots=True)
class LocalLimit:
    """A limit a venue set for itself, or its authority set for it.

    Authority, reference and day of approval are blank or None where the limit is the house's
    own. `by` is who entered it.
    """

    rule: str
    value: Decimal
    unit: str
    valid_from: date
    authority: str
    reference: str
    approved_on: date | None
    by: str

    def is_approved(self, on: date) -> bool:
        """Say whether authority, reference and a past day of approval are all on file."""
        named = bool(self.authority.strip() and self.reference.strip())
        return named and self.approved_on is not None and self.approved_on <= on

    @property
    def in_words(self) -> str:
        """Return value and unit as a finding prints them."""
        return said(self.value, self.unit)


@dataclass(frozen=True, slots=True)
class EffectiveLimit:
    """The limit that governs, the venue's own row where that is the one, and what to show."""

    limit: Limit
    local: LocalLimit | None
    findings: tuple[Finding, ...]

    @property
    def value(self) -> Decimal:
        """Return the number that governs, in the unit of the rule."""
        return self.limit.number

    @property
    def citation(self) -> str:
        """Return document and section as label and report print them."""
        return self.limit.citation

    @property
    def verified(self) -> str:
        """Return how well the row was checked."""
        return self.limit.verified


def effective_limit(
    code: LimitTable, rule: str, on: date, local: Sequence[LocalLimit]
) -> EffectiveLimit:
    """Return the limit that governs a rule on a day: the code's, or the venue's own.

    The strictest of the venue's limits wins over a looser code. A looser one counts only with
    authority, reference and day of approval, and is then shown as a warning each time; without
    them it is ignored and a manager is asked. Where the code fixes nothing, the strictest of
    the venue's limits governs.

    Raises MissingRule where neither the code nor the venue fixes anything.
    """
    usable, findings = _usable(code, rule, on, local)
    stricter = _strictness(code, rule)
    try:
        own = code.limit(rule, on)
    except MissingRule:
        if not usable:
            raise
        return _venue_alone(min(usable, key=stricter), code, findings)
    if not usable:
        return EffectiveLimit(own, None, findings)
    return _judged(own, usable, findings, stricter, on)


def _usable(
    code: LimitTable, rule: str, on: date, local: Sequence[LocalLimit]
) -> tuple[list[LocalLimit], tuple[Finding, ...]]:
    """Keep the rows in force, one per authority; a row in a foreign unit is asked about."""
    latest: dict[str, LocalLimit] = {}
    for row in sorted(local, key=lambda row: row.valid_from):
        if row.rule == rule and row.valid_from <= on:
            latest[row.authority.strip().casefold()] = row
    unit = code.meanings[rule].unit if rule in code.meanings else ""
    findings = tuple(_foreign_unit(row, unit) for row in latest.values() if row.unit != unit)
    return [row for row in latest.values() if row.unit == unit != WORD], findings


def _strictness(code: LimitTable, rule: str) -> Callable[[LocalLimit], Decimal]:
    """Return a key that is lowest for the strictest value."""
    sign = -1 if rule in code.meanings and code.meanings[rule].stricter == "larger" else 1
    return lambda row: sign * row.value


def _judged(
    own: Limit,
    usable: list[LocalLimit],
    findings: tuple[Finding, ...],
    stricter: Callable[[LocalLimit], Decimal],
    on: date,
) -> EffectiveLimit:
    yardstick = stricter(_as_local(own))
    strict = [row for row in usable if stricter(row) <= yardstick]
    approved = [row for row in usable if stricter(row) > yardstick and row.is_approved(on)]
    unapproved = [row for row in usable if stricter(row) > yardstick and not row.is_approved(on)]
    findings += tuple(_ignored(row, own) for row in unapproved)
    if strict:
        winner = min(strict, key=stricter)
        return EffectiveLimit(_as_limit(winner), winner, (*findings, _stricter(winner, own)))
    if approved:
        winner = min(approved, key=stricter)
        return EffectiveLimit(_as_limit(winner), winner, (*findings, _looser(winner, own)))
    return EffectiveLimit(own, None, findings)


def _venue_alone(
    winner: LocalLimit, code: LimitTable, findings: tuple[Finding, ...]
) -> EffectiveLimit:
    statement = (
        f"{code.name} fixes no {code.meanings[winner.rule].meaning}; "
        f"the venue's own limit of {winner.in_words} applies, entered by {winner.by}."
    )
    note = _finding(winner, Severity.NOTE, statement)
    return EffectiveLimit(_as_limit(winner), winner, (*findings, note))


def _stricter(row: LocalLimit, own: Limit) -> Finding:
    return _finding(
        row,
        Severity.NOTE,
        f"The venue's limit of {row.in_words} applies; the code's is {own.in_words}.",
    )


def _looser(row: LocalLimit, own: Limit) -> Finding:
    return _finding(
        row,
        Severity.WARN,
        f"A limit looser than the code's applies: {row.in_words} instead of {own.in_words}, "
        f"approved by {row.authority} ({row.reference}) on {row.approved_on}.",
    )


def _ignored(row: LocalLimit, own: Limit) -> Finding:
    return _finding(
        row,
        Severity.ASK,
        f"The venue's limit of {row.in_words} is looser than the code's {own.in_words} and is "
        "ignored: authority, reference and day of approval are not all on file.",
    )


def _foreign_unit(row: LocalLimit, unit: str) -> Finding:
    return _finding(
        row,
        Severity.ASK,
        f"The venue's limit of {row.in_words} is ignored: this rule is written in "
        f"{unit or 'no unit known here'}, not in {row.unit}. Enter it again in that unit.",
    )


def _finding(row: LocalLimit, severity: Severity, statement: str) -> Finding:
    approval = ", ".join(part for part in (row.authority, row.reference) if part.strip())
    return Finding(
        rule=row.rule,
        severity=severity,
        statement=statement,
        source=approval or f"limit of the venue, entered by {row.by}",
        verified="venue",
        evidence=(("limit", row.in_words), ("from", row.valid_from.isoformat())),
    )


def _as_limit(row: LocalLimit) -> Limit:
    """Return the venue's row in the shape of a code's row."""
    return Limit(
        rule=row.rule,
        valid_from=row.valid_from,
        value=row.value,
        unit=row.unit,
        source=row.authority.strip() or "limit of the venue",
        section=row.reference.strip(),
        verified="venue",
        note=f"Entered by {row.by}.",
    )


def _as_local(own: Limit) -> LocalLimit:
    """Return the code's row in the shape of a venue's, to be measured by the same key."""
    return LocalLimit(own.rule, own.number, own.unit, own.valid_from, "", "", None, "")
