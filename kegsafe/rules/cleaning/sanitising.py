"""Does a sanitising step meet the code's table, the product's label and the no-rinse limit?

A band from a strip counts only when the whole of it is inside; each row of the table that the
band touches must be met. What is not recorded is asked for, never assumed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from kegsafe.rules.cleaning.checks import (
    ask,
    contact_in_limits,
    stop,
    strength_in_limits,
    temperature_in_limits,
)
from kegsafe.rules.cleaning.chemicals import LABEL, ChemicalFacts, label_silent
from kegsafe.rules.cleaning.guidance import amount
from kegsafe.rules.cleaning.limits import (
    SanitiserRow,
    Use,
    no_rinse_maximum,
    sanitiser_code,
    sanitiser_tables,
)
from kegsafe.rules.cleaning.readings import Fit, Means, Reading, fit
from kegsafe.rules.findings import Finding, Severity

LONGER_CONTACT_S = 10  # what every other row of the chlorine grid asks for
TEST_KIT = "FDA Food Code 4-501.116"


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """A sanitising step as it was measured. None is not recorded."""

    chemical: ChemicalFacts
    strength: Reading | None
    temperature_degc: Decimal | None
    ph: Reading | None
    hardness_mg_per_l: Decimal | None
    contact_s: Decimal | None
    use: Use
    is_rinsed_after: bool


def sanitiser_findings(solution: Solution, code: str, on: date) -> Iterator[Finding]:
    """Yield every finding about a sanitising step; a stop fails it, an ask leaves it open.

    Raises UnknownSanitiserCode for a code without a table.
    """
    if solution.chemical.active is None:
        yield ask(
            "cleaning.active_not_recorded",
            f"What {solution.chemical.name} sanitises with is not on record. Read the label.",
            LABEL,
        )
        return
    named_by_code = False
    for table in sanitiser_tables(code, on):
        rows = _rows_for(table, solution)
        named_by_code |= bool(rows)
        if rows:
            yield from _table_findings(rows, solution)
    if not named_by_code:
        yield from _label_alone(solution, code)
    if not solution.chemical.is_hot_water:
        yield from _measured_findings(solution)
        yield from _label_findings(solution)
        yield from _rinse_findings(solution, on)


def _rows_for(table: Sequence[SanitiserRow], solution: Solution) -> list[SanitiserRow]:
    return [
        row
        for row in table
        if solution.chemical.active in row.actives and row.use in (Use.ANY, solution.use)
    ]


def _table_findings(rows: Sequence[SanitiserRow], solution: Solution) -> Iterator[Finding]:
    strength_findings = tuple(_strength_findings(rows, solution))
    yield from strength_findings
    if any(finding.severity is Severity.STOP for finding in strength_findings):
        return
    touched = [
        tuple(_columns_findings(columns, solution))
        for strength, columns in _by_strength(rows).items()
        if _touches(strength, solution.strength)
    ]
    yield from _weakest_counts(touched, solution)


def _weakest_counts(
    touched: Sequence[tuple[Finding, ...]], solution: Solution
) -> Iterator[Finding]:
    """A row broken fails the step only if every row the band touches is; else it is unclear."""
    broken = [any(each.severity is Severity.STOP for each in row) for row in touched]
    for row, is_broken in zip(touched, broken, strict=True):
        for finding in row:
            if is_broken and not all(broken) and finding.severity is Severity.STOP:
                yield _only_at_one_end(finding, solution)
            else:
                yield finding


def _only_at_one_end(finding: Finding, solution: Solution) -> Finding:
    assert solution.strength is not None  # noqa: S101 - no band, no second row to touch
    return ask(
        "cleaning.strength_unresolved",
        f"The strength was read {solution.strength.in_words('mg/l')}, and a weaker solution asks "
        f"for more. If it is at the weak end: {finding.statement} Or read it again, finer.",
        finding.source,
        finding.verified,
    )


def _strength_findings(rows: Sequence[SanitiserRow], solution: Solution) -> Iterator[Finding]:
    """Hold the strength against the weakest row's floor and the strongest row's ceiling."""
    if all(row.at_least_mg_per_l is None for row in rows):
        return
    if solution.strength is None:
        yield ask(
            "cleaning.strength_not_recorded",
            f"The strength of {solution.chemical.name} was not recorded. Read it with a test "
            "kit and record it.",
            rows[0].citation,
            rows[0].verified,
        )
        return
    weakest = min(rows, key=lambda row: row.at_least_mg_per_l or Decimal(0))
    ceilings = [row.at_most_mg_per_l for row in rows]
    maximum = None if None in ceilings else max(filter(None, ceilings))
    yield from strength_in_limits(
        solution.chemical.name,
        solution.strength,
        weakest.at_least_mg_per_l,
        maximum,
        weakest.citation,
        weakest.verified,
    )


_Strength = tuple[Decimal | None, Decimal | None]


def _by_strength(rows: Sequence[SanitiserRow]) -> dict[_Strength, list[SanitiserRow]]:
    """Group the pH columns of one strength; a row ends where the next stronger one begins."""
    columns: dict[_Strength, list[SanitiserRow]] = {}
    for row in rows:
        columns.setdefault((row.at_least_mg_per_l, row.below_mg_per_l), []).append(row)
    return columns


def _touches(strength: _Strength, reading: Reading | None) -> bool:
    at_least, below = strength
    if reading is None:
        return at_least is None
    reaches_up = at_least is None or reading.highest is None or reading.highest >= at_least
    return reaches_up and (below is None or reading.lowest < below)


def _columns_findings(columns: Sequence[SanitiserRow], solution: Solution) -> Iterator[Finding]:
    admitted = [row for row in columns if _admits_ph(row, solution) is Fit.INSIDE]
    if not admitted:
        yield _ph_finding(columns, solution)
        return
    row = min(admitted, key=lambda row: row.at_least_degc or Decimal(0))
    yield from _temperature_findings(row, solution)
    yield from _contact_findings(row, solution)
    yield from _hardness_findings(row, solution)


def _highest_ph(row: SanitiserRow, chemical: ChemicalFacts) -> Decimal | None:
    """Return the pH a row ends at, raised by the label only where the code lets it."""
    label = chemical.label_ph_at_most
    if row.ph_at_most is None or not row.label_may_raise_ph or label is None:
        return row.ph_at_most
    return max(row.ph_at_most, label)


def _admits_ph(row: SanitiserRow, solution: Solution) -> Fit:
    """Say whether the solution's pH lies in a row; unknown counts by the label's highest."""
    highest = _highest_ph(row, solution.chemical)
    if highest is None:
        return Fit.INSIDE
    if solution.ph is not None:
        return fit(solution.ph, None, highest)
    label = solution.chemical.label_ph_at_most
    return Fit.INSIDE if label is not None and label <= highest else Fit.UNRESOLVED


def _ph_finding(columns: Sequence[SanitiserRow], solution: Solution) -> Finding:
    row = max(columns, key=lambda row: _highest_ph(row, solution.chemical) or Decimal(0))
    highest = _highest_ph(row, solution.chemical)
    name = solution.chemical.name
    if solution.ph is None:
        return ask(
            "cleaning.ph_not_recorded",
            f"The pH of {name} was not recorded, and its label does not state one of {highest} "
            "or below. Measure it and record it.",
            row.citation,
            row.verified,
        )
    read = solution.ph.in_words("pH")
    if _admits_ph(row, solution) is Fit.UNRESOLVED:
        return ask(
            "cleaning.ph_unresolved",
            f"The pH of {name} was read {read}: part of that is above {highest}. Read it again "
            "with a finer strip or a meter.",
            row.citation,
            row.verified,
        )
    return stop(
        "cleaning.ph_too_high",
        f"The pH of {name} was {read}, above {highest}: it does not sanitise as the code counts. "
        "Rinse out all detergent, make a new solution and do the step again.",
        row.citation,
        row.verified,
    )


def _temperature_findings(row: SanitiserRow, solution: Solution) -> Iterator[Finding]:
    yield from temperature_in_limits(
        solution.chemical.name,
        solution.temperature_degc,
        row.at_least_degc,
        row.at_most_degc,
        row.citation,
        row.verified,
    )


def _contact_findings(row: SanitiserRow, solution: Solution) -> Iterator[Finding]:
    yield from contact_in_limits(
        solution.chemical.name, solution.contact_s, row.contact_s, None, row.citation, row.verified
    )
    held = solution.contact_s
    if row.contact_s is not None and held is not None and row.contact_s <= held < LONGER_CONTACT_S:
        yield Finding(
            "cleaning.short_contact",
            Severity.WARN,
            f"{solution.chemical.name} stood {amount(held, 's')}: enough for this strength, pH and "
            f"temperature alone. Give it {LONGER_CONTACT_S} s.",
            row.citation,
            row.verified,
        )


def _hardness_findings(row: SanitiserRow, solution: Solution) -> Iterator[Finding]:
    if row.hardness_at_most_mg_per_l is None:
        return
    label = solution.chemical.label_hardness_at_most_mg_per_l
    most = max(row.hardness_at_most_mg_per_l, label or Decimal(0))
    hardness = solution.hardness_mg_per_l
    if hardness is None:
        yield ask(
            "cleaning.hardness_not_recorded",
            "The hardness of the water is not on record. Ask the water supplier, or test it.",
            row.citation,
            row.verified,
        )
    elif hardness > most:
        yield stop(
            "cleaning.water_too_hard",
            f"The water is too hard for {solution.chemical.name}: {amount(hardness, 'mg/l')}, "
            f"{amount(hardness - most, 'mg/l')} above {amount(most, 'mg/l')}. Use another "
            "sanitiser or softer water.",
            row.citation,
            row.verified,
        )


def _measured_findings(solution: Solution) -> Iterator[Finding]:
    if solution.strength is not None and solution.strength.means is Means.DOSED:
        yield ask(
            "cleaning.strength_not_measured",
            f"The strength of {solution.chemical.name} was worked out, not measured. Read it with "
            "a test kit.",
            TEST_KIT,
            "memory",
        )


def _label_findings(solution: Solution) -> Iterator[Finding]:
    """Hold the step against the label, which counts beside every code."""
    chemical = solution.chemical
    minimum, maximum = chemical.label_at_least_mg_per_l, chemical.label_at_most_mg_per_l
    if minimum is None:
        yield label_silent(chemical, "strength")
    elif solution.strength is None:
        yield ask(
            "cleaning.strength_not_recorded",
            f"The strength of {chemical.name} was not recorded. Read it with a test kit.",
            LABEL,
        )
    else:
        yield from strength_in_limits(
            chemical.name, solution.strength, minimum, maximum, LABEL, "venue"
        )
    if chemical.label_contact_s is None:
        yield label_silent(chemical, "contact time")
    yield from contact_in_limits(
        chemical.name, solution.contact_s, chemical.label_contact_s, None, LABEL, "venue"
    )
    yield from temperature_in_limits(
        chemical.name,
        solution.temperature_degc,
        chemical.label_at_least_degc,
        chemical.label_at_most_degc,
        LABEL,
        "venue",
    )


def _rinse_findings(solution: Solution, on: date) -> Iterator[Finding]:
    """A strength above the no-rinse limit, or a label that asks for one, needs a rinse."""
    chemical = solution.chemical
    if not solution.is_rinsed_after and chemical.needs_rinse is not False:
        yield _label_wants_rinse(chemical)
    assert chemical.active is not None  # noqa: S101 - sanitiser_findings has looked
    row = no_rinse_maximum(chemical.active, on)
    if row is None or solution.strength is None:
        return
    highest = solution.strength.highest
    lies = fit(solution.strength, None, row.at_most_mg_per_l)
    if lies is Fit.INSIDE:
        if highest == row.at_most_mg_per_l:
            statement = f"{chemical.name} is at the limit for draining without a rinse."
            yield Finding(
                "cleaning.at_its_limit", Severity.WARN, statement, row.citation, row.verified
            )
        return
    read = solution.strength.in_words("mg/l")
    statement = (
        f"{chemical.name} was read {read}; draining alone is enough up to "
        f"{amount(row.at_most_mg_per_l, 'mg/l')} of {row.name}."
    )
    if solution.is_rinsed_after:
        severity, what_now = Severity.WARN, "It was rinsed after."
    elif lies is Fit.UNRESOLVED:
        severity, what_now = Severity.ASK, "Read it again, or rinse with drinking water."
    else:
        over = amount(solution.strength.lowest - row.at_most_mg_per_l, "mg/l")
        severity = Severity.STOP
        what_now = f"{over} too much: rinse with drinking water, dilute it and do the step again."
    yield Finding(
        "cleaning.above_no_rinse", severity, f"{statement} {what_now}", row.citation, row.verified
    )


def _label_wants_rinse(chemical: ChemicalFacts) -> Finding:
    if chemical.needs_rinse:
        return stop(
            "cleaning.label_wants_rinse",
            f"The label of {chemical.name} asks for a rinse after it, and none is on record. Rinse "
            "with drinking water and record it.",
            LABEL,
            "venue",
        )
    return ask(
        "cleaning.label_rinse_not_recorded",
        f"Whether {chemical.name} must be rinsed off is not on record. Read its label.",
        LABEL,
    )


def _label_alone(solution: Solution, code: str) -> Iterator[Finding]:
    chosen = sanitiser_code(code)
    if solution.chemical.is_hot_water:
        yield ask(
            "cleaning.no_code_limit",
            f"{chosen.name} sets no figure here for hot water used so. Ask the authority, and "
            "record the house's own.",
            chosen.name,
        )
        return
    yield Finding(
        "cleaning.label_rules",
        Severity.NOTE,
        f"{chosen.name}: no row for {solution.chemical.name}; the label of the product is the "
        "limit.",
        LABEL,
        "venue",
    )
