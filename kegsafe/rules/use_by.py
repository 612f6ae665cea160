"""The use-by of a drink in a keg: the earliest of named candidates, each with its reason.

Every candidate only ever shortens. Missing evidence gives no date, and says
what is missing. The parts' dates bind the drink too: mixing never resets a
clock (FDA Food Code 3-501.17(C), as adopted by Wisconsin ATCP 75, read).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import chain

from kegsafe.rules.date_candidates import (
    DATE_MARKING,
    Candidate,
    date_marking_days,
    in_days,
    limit_if_any,
    rule_does_not_count,
    shelf_life_candidate,
    undated,
    unsigned_rules,
)
from kegsafe.rules.date_marking import counted_last_date, day_one, end_of
from kegsafe.rules.facts import Drink, House
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.limits import EffectiveLimit
from kegsafe.rules.lot_dates import part_dates
from kegsafe.rules.moments import on_day
from kegsafe.rules.tcs import ProductAssessment, TcsFacts, TcsVerdict, tcs_status

REDUCED_OXYGEN = "reduced_oxygen.days"
REDUCED_OXYGEN_CHILLED = "reduced_oxygen.chilled_days"


@dataclass(frozen=True, slots=True)
class UseByVerdict:
    """The date, what it rests on, and what stands in its way.

    `use_by` is None when something that could shorten it is not known; then
    `earliest` still holds the earliest candidate found.
    """

    use_by: datetime | None
    candidates: tuple[Candidate, ...]
    findings: tuple[Finding, ...]
    tcs: TcsVerdict

    @property
    def earliest(self) -> Candidate | None:
        return self.candidates[0] if self.candidates else None


def use_by(drink: Drink, house: House) -> UseByVerdict:
    """Return the use-by of a drink as filled, by the rules in force on the day it was made."""
    on = day_one(drink.made_at, house.zone, drink.business_date)
    tcs = _tcs_of_drink(drink, on)
    lifted = _assessment_that_lifts_the_cap(drink, on)
    parts = [
        part_dates(part, house, on, filled_at=drink.filled_at, cap_lifted_by=lifted)
        for part in drink.parts
        if not part.in_glass
    ]
    own = list(_drink_candidates(drink, house, on, tcs, lifted))
    candidates = sorted(chain(own, *(dates.candidates for dates in parts)), key=_instant)
    findings = [
        *chain.from_iterable(dates.findings for dates in parts),
        *_drink_findings(drink, house, on, tcs, lifted, own),
    ]
    is_dated = bool(own) and bool(candidates) and all(dates.is_dated for dates in parts)
    date = candidates[0].ends_at if is_dated else None
    return UseByVerdict(date, tuple(candidates), tuple(findings), tcs)


def _tcs_of_drink(drink: Drink, on: date) -> TcsVerdict:
    """A mixture is judged by its own measurements; the parts' acidity says nothing of it."""
    return tcs_status(
        TcsFacts(
            category=None,
            ph=drink.measured_ph,
            water_activity=drink.measured_water_activity,
            heat_treated_and_packaged=False,
            shelf_stable_unopened=False,
            assessment=drink.assessment,
        ),
        on,
    )


def _assessment_that_lifts_the_cap(drink: Drink, on: date) -> ProductAssessment | None:
    """Only evidence about the drink itself counts, so that no added part can lengthen a date."""
    recorded = [drink.assessment, *(rule.assessment for rule in drink.shelf_lives)]
    for assessment in recorded:
        if assessment is None or not assessment.is_current(on):
            continue
        if assessment.concludes_not_tcs or assessment.maximum_days is not None:
            return assessment
    return None


def _drink_candidates(
    drink: Drink,
    house: House,
    on: date,
    tcs: TcsVerdict,
    lifted: ProductAssessment | None,
) -> Iterator[Candidate]:
    if tcs.treated_as_tcs and lifted is None:
        yield from _date_marking_of_mixture(drink, house, on)
    if tcs.treated_as_tcs:
        yield from _chilled_with_little_oxygen(drink, house, on)
    if tcs.treated_as_tcs and lifted is not None:
        yield from _little_oxygen_under_a_plan(drink, house, on)
    if lifted is not None and lifted.maximum_days is not None:
        yield _assessed_days(drink, house, lifted)
    for rule in drink.shelf_lives:
        yield shelf_life_candidate(rule, drink.filled_at, house, "The keg")


def _date_marking_of_mixture(drink: Drink, house: House, on: date) -> Iterator[Candidate]:
    days = date_marking_days(house, on)
    if days is not None:
        last = counted_last_date(on, int(days.value), ())
        yield Candidate(
            end_of(last, house.zone),
            DATE_MARKING,
            f"Mixed on {on_day(on)}: a drink that needs time/temperature control is used, sold or "
            f"discarded within {in_days(int(days.value))}, the day of mixing being day 1.",
            days.citation,
            days.verified,
        )


def _chilled_with_little_oxygen(drink: Drink, house: House, on: date) -> Iterator[Candidate]:
    """A purged, closed keg is read as packed with reduced oxygen where guidance sets a ceiling."""
    limit = limit_if_any(house, REDUCED_OXYGEN_CHILLED, on)
    if limit is None or _has_other_control(drink, house, on):
        return
    yield _days_from_filling(
        drink,
        house,
        limit,
        REDUCED_OXYGEN_CHILLED,
        "into a keg closed under gas, with no other control against Clostridium botulinum on "
        "record",
        "Guidance, not law; ask the authority whether a keg counts.",
    )


def _little_oxygen_under_a_plan(drink: Drink, house: House, on: date) -> Iterator[Candidate]:
    """Where an assessment lifts the day count, the ceiling of a plan on file is still above it."""
    limit = limit_if_any(house, REDUCED_OXYGEN, on)
    if limit is not None:
        yield _days_from_filling(
            drink,
            house,
            limit,
            REDUCED_OXYGEN,
            "into a keg closed under gas, perhaps food packed with reduced oxygen",
            "It needs a plan on file; ask the authority whether a keg counts.",
        )


def _days_from_filling(
    drink: Drink, house: House, limit: EffectiveLimit, rule: str, how: str, note: str
) -> Candidate:
    packed, days = day_one(drink.filled_at, house.zone, None), int(limit.value)
    return Candidate(
        end_of(counted_last_date(packed, days, ()), house.zone),
        rule,
        f"Filled on {on_day(packed)} {how}: at most {in_days(days)}, the day of filling "
        f"being day 1. {note}",
        limit.citation,
        limit.verified,
    )


def _has_other_control(drink: Drink, house: House, on: date) -> bool:
    """Acidity or dryness throughout the drink, as measured, may stand instead of the day count."""
    return _is_at_most(drink.measured_ph, house, "reduced_oxygen.ph_maximum", on) or _is_at_most(
        drink.measured_water_activity, house, "reduced_oxygen.water_activity_maximum", on
    )


def _is_at_most(measured: Decimal | None, house: House, rule: str, on: date) -> bool:
    limit = limit_if_any(house, rule, on)
    return measured is not None and limit is not None and measured <= limit.value


def _assessed_days(drink: Drink, house: House, assessment: ProductAssessment) -> Candidate:
    days = assessment.maximum_days
    assert days is not None  # noqa: S101 - the caller has looked
    first = day_one(drink.filled_at, house.zone, None)
    return Candidate(
        end_of(counted_last_date(first, days, ()), house.zone),
        "assessment.maximum_days",
        f"Filled on {on_day(first)}: the assessment allows {in_days(days)} in the keg.",
        _cite(assessment),
        "venue",
    )


def _drink_findings(
    drink: Drink,
    house: House,
    on: date,
    tcs: TcsVerdict,
    lifted: ProductAssessment | None,
    own: list[Candidate],
) -> Iterator[Finding]:
    yield tcs.finding
    limit = date_marking_days(house, on)
    if limit is not None:
        yield from limit.findings
    if not own:
        yield undated(
            "the recipe has an in-keg shelf life, with its basis and who answers for it",
            "The code of this venue sets no number of days for such a drink.",
        )
    yield from unsigned_rules(drink.shelf_lives, None)
    if lifted is not None:
        yield _dated_by_assessment(lifted)
    elif tcs.treated_as_tcs:
        yield from _drink_rule_longer_than_the_code(drink, house, on)


def _drink_rule_longer_than_the_code(drink: Drink, house: House, on: date) -> Iterator[Finding]:
    cap = date_marking_days(house, on)
    if cap is None:
        return
    last = end_of(counted_last_date(on, int(cap.value), ()), house.zone)
    for rule in drink.shelf_lives:
        ends_at = shelf_life_candidate(rule, drink.filled_at, house, "The keg").ends_at
        if ends_at > last:
            yield rule_does_not_count(f"{drink.name} in the keg", rule, cap)


def _dated_by_assessment(assessment: ProductAssessment) -> Finding:
    return Finding(
        "assessment.in_use",
        Severity.WARN,
        f"The code's day count is not applied, on the word of {assessment.competent_person} "
        f"({assessment.role}), who assessed: {assessment.scope}. The authority may see it "
        "otherwise.",
        _cite(assessment),
        "venue",
    )


def _instant(candidate: Candidate) -> datetime:
    # Python compares two times of one zone by the clock face, which comes twice in autumn.
    return candidate.ends_at.astimezone(UTC)


def _cite(assessment: ProductAssessment) -> str:
    return f"Assessment {assessment.reference}, {on_day(assessment.assessed_on)}"
