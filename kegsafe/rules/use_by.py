"""The use-by of a drink in a keg: the earliest of named candidates, each with its reason.

Every candidate only ever shortens. Missing evidence gives no date, and says
what is missing. The parts' dates bind the drink too: mixing never resets a
clock (FDA Food Code 3-501.17(C), as adopted by Wisconsin ATCP 75, read).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from itertools import chain

from kegsafe.rules.date_marking import (
    CONSERVATIVE,
    counted_last_date,
    day_one,
    elapsed_end,
    end_of,
)
from kegsafe.rules.facts import Basis, DateKind, Drink, House, Part, ShelfLife, Trigger
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.limits import EffectiveLimit, effective_limit
from kegsafe.rules.tcs import ProductAssessment, TcsFacts, TcsVerdict, tcs_status

DATE_MARKING = "date_marking.days"
CHILLED_VACUUM = "chilled_vacuum.days"


@dataclass(frozen=True, slots=True)
class Candidate:
    """One reason a drink must be gone by a moment."""

    ends_at: datetime
    rule: str
    because: str
    source: str
    verified: str

    def as_finding(self, *, binds: bool) -> Finding:
        """Return the candidate as a reason on screen; losing candidates are shown too."""
        return Finding(
            rule=self.rule,
            severity=Severity.NOTE,
            statement=self.because if not binds else f"{self.because} This date binds.",
            source=self.source,
            verified=self.verified,
            evidence=(("ends", f"{self.ends_at:%Y-%m-%d (%a) %H:%M}"),),
        )


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


@dataclass(frozen=True, slots=True)
class PartDates:
    """What one lot says about how long it lasts."""

    candidates: tuple[Candidate, ...]
    findings: tuple[Finding, ...]
    is_dated: bool


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


def part_dates(
    part: Part,
    house: House,
    on: date,
    *,
    filled_at: datetime | None = None,
    cap_lifted_by: ProductAssessment | None = None,
) -> PartDates:
    """Return how long one lot lasts: maker's date, shelf-life rules, the code's day count.

    `filled_at` is when it went into a keg, None while it stands in stock.
    `cap_lifted_by` is an assessment of the whole drink that replaces the
    code's day count of its parts.
    """
    tcs = _tcs_of_part(part, on)
    missing = list(_what_is_missing(part, tcs, in_a_drink=filled_at is not None))
    candidates = [*_makers_date(part, house)]
    if tcs.treated_as_tcs and cap_lifted_by is None:
        candidates += _date_marking_of_part(part, house, on)
    candidates += _shelf_life_candidates(part, house, filled_at)
    findings = [*missing, *_best_before_warning(part, house), *_unsigned(part.shelf_lives, part)]
    if cap_lifted_by is None:
        findings += _longer_than_the_code(part, house, on, tcs)
    return PartDates(tuple(candidates), tuple(findings), is_dated=not missing)


def date_marking_days(house: House, on: date) -> EffectiveLimit | None:
    """Return the day count that binds a TCS food here, or None where the code sets none."""
    if not house.code.has(DATE_MARKING, on) and not _set_locally(house, DATE_MARKING):
        return None
    return effective_limit(house.code, DATE_MARKING, on, house.local_limits)


# What the drink itself says


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
        yield from _chilled_vacuum(drink, house, on)
    if lifted is not None and lifted.maximum_days is not None:
        yield _assessed_days(drink, house, lifted)
    for rule in drink.shelf_lives:
        yield _shelf_life_candidate(rule, drink.filled_at, house, "The keg", ())


def _date_marking_of_mixture(drink: Drink, house: House, on: date) -> Iterator[Candidate]:
    days = date_marking_days(house, on)
    if days is not None:
        last = counted_last_date(on, int(days.value), ())
        yield Candidate(
            end_of(last, house.zone),
            DATE_MARKING,
            f"Mixed on {_day(on)}: a drink that needs time/temperature control is used, sold or "
            f"discarded within {_days(int(days.value))}, the day of mixing being day 1.",
            days.citation,
            days.verified,
        )


def _chilled_vacuum(drink: Drink, house: House, on: date) -> Iterator[Candidate]:
    """A purged, closed keg is read as reduced-oxygen packaging where guidance sets a ceiling."""
    if not house.code.has(CHILLED_VACUUM, on) or _has_other_control(drink, house, on):
        return
    limit = effective_limit(house.code, CHILLED_VACUUM, on, house.local_limits)
    packed = day_one(drink.filled_at, house.zone, drink.business_date)
    last = counted_last_date(packed, int(limit.value), ())
    yield Candidate(
        end_of(last, house.zone),
        CHILLED_VACUUM,
        f"Filled on {_day(packed)} into a keg closed under gas, with no other control against "
        f"Clostridium botulinum on record: at most {_days(int(limit.value))}, the day of filling "
        "being day 1. Guidance, not law; ask the authority whether a keg counts.",
        limit.citation,
        limit.verified,
    )


def _has_other_control(drink: Drink, house: House, on: date) -> bool:
    """Acidity or dryness throughout the drink, as measured, may stand instead of the day count."""
    code = house.code
    acid = (
        drink.measured_ph is not None
        and code.has("chilled_vacuum.maximum_ph", on)
        and drink.measured_ph <= code.limit("chilled_vacuum.maximum_ph", on).value
    )
    dry = (
        drink.measured_water_activity is not None
        and code.has("chilled_vacuum.maximum_aw", on)
        and drink.measured_water_activity <= code.limit("chilled_vacuum.maximum_aw", on).value
    )
    return acid or dry


def _assessed_days(drink: Drink, house: House, assessment: ProductAssessment) -> Candidate:
    days = assessment.maximum_days
    assert days is not None  # noqa: S101 - the caller has looked
    first = day_one(drink.filled_at, house.zone, None)
    return Candidate(
        end_of(counted_last_date(first, days, ()), house.zone),
        "assessment.maximum_days",
        f"Filled on {_day(first)}: the assessment allows {_days(days)} in the keg.",
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
        yield _undated(
            "the recipe has an in-keg shelf life, with its basis and who answers for it",
            "The code of this venue sets no number of days for such a drink.",
        )
    yield from _unsigned(drink.shelf_lives, None)
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
        ends_at = _shelf_life_candidate(rule, drink.filled_at, house, "The keg", ()).ends_at
        if ends_at > last:
            yield _rule_does_not_count(f"{drink.name} in the keg", rule, cap)


# What one lot says


def _tcs_of_part(part: Part, on: date) -> TcsVerdict:
    unopened = part.opened_at is None and not part.is_prepared
    return tcs_status(
        TcsFacts(
            category=part.category,
            ph=part.measured_ph,
            water_activity=part.measured_water_activity,
            heat_treated_and_packaged=part.heat_treated_and_packaged,
            shelf_stable_unopened=part.shelf_stable_unopened and unopened,
            assessment=part.assessment,
        ),
        on,
    )


def _what_is_missing(part: Part, tcs: TcsVerdict, *, in_a_drink: bool) -> Iterator[Finding]:
    if part.is_prepared and part.prepared_at is None:
        yield _undated(f"the day {part.name} was prepared is recorded")
    bought_and_used = in_a_drink and not part.is_prepared
    if bought_and_used and tcs.treated_as_tcs and part.opened_at is None:
        yield _undated(f"the day {part.name} was opened is recorded")
    undated_pack = part.date_kind is DateKind.NONE and not part.is_prepared
    if undated_pack and tcs.treated_as_tcs and not part.shelf_lives and part.opened_at is None:
        yield _undated(f"{part.name} has a use-by date or a shelf-life rule")
    if part.date_mark_exempt and part.date_kind is DateKind.NONE and not part.shelf_lives:
        yield _undated(
            f"{part.name} has the maker's date or a shelf-life rule",
            "The code's day count does not apply to it; its own date does.",
        )


def _makers_date(part: Part, house: House) -> Iterator[Candidate]:
    binds = part.date_kind is DateKind.USE_BY or (
        part.date_kind is DateKind.BEST_BEFORE and house.best_before_binds
    )
    if binds and part.date_on is not None:
        words = "use-by" if part.date_kind is DateKind.USE_BY else "best-before"
        yield Candidate(
            end_of(part.date_on, house.zone),
            f"lot.{part.date_kind.value}",
            f"The {words} of {part.name} is {_day(part.date_on)}.",
            "Date on the pack",
            "venue",
        )


def _date_marking_of_part(part: Part, house: House, on: date) -> Iterator[Candidate]:
    if part.date_mark_exempt:
        return
    limit = date_marking_days(house, on)
    began = part.prepared_at if part.is_prepared else part.opened_at
    if limit is None or began is None:
        return
    first = day_one(began, house.zone, part.business_date)
    last = counted_last_date(first, int(limit.value), part.frozen, _freezing(house, on))
    verb = "prepared" if part.is_prepared else "opened"
    yield Candidate(
        end_of(last, house.zone),
        DATE_MARKING,
        f"{part.name} was {verb} on {_day(first)}: {_days(int(limit.value))}, that day being "
        "day 1, and mixing does not restart the count.",
        limit.citation,
        limit.verified,
    )


def _shelf_life_candidates(
    part: Part, house: House, filled_at: datetime | None
) -> Iterator[Candidate]:
    for rule in part.shelf_lives:
        began = _event(part, rule.trigger, filled_at)
        if began is not None:
            yield _shelf_life_candidate(rule, began, house, part.name, part.frozen, part)


def _event(part: Part, trigger: Trigger, filled_at: datetime | None) -> datetime | None:
    match trigger:
        case Trigger.OPENED:
            return part.opened_at
        case Trigger.PREPARED:
            return part.prepared_at
        case Trigger.KEGGED:
            return filled_at
        case Trigger.THAWED:
            return part.thawed_at


_VERBS = {
    Trigger.OPENED: "was opened",
    Trigger.PREPARED: "was prepared",
    Trigger.THAWED: "was thawed",
    Trigger.KEGGED: "was filled",
}


def _shelf_life_candidate(
    rule: ShelfLife,
    began: datetime,
    house: House,
    name: str,
    frozen: tuple,
    part: Part | None = None,
) -> Candidate:
    first = day_one(began, house.zone, part.business_date if part else None)
    if rule.days is not None:
        still_frozen = () if rule.trigger in {Trigger.THAWED, Trigger.KEGGED} else frozen
        last = counted_last_date(first, rule.days, still_frozen, _freezing(house, first))
        ends_at = end_of(last, house.zone)
    else:
        assert rule.hours is not None  # noqa: S101 - one of the two is set, see ShelfLife
        ends_at = elapsed_end(began, rule.hours).astimezone(house.zone)
    return Candidate(
        ends_at,
        rule.id,
        f"{name} {_VERBS[rule.trigger]} on {_day(first)} and keeps {rule.length} from then"
        f"{_held_at(rule)}: {_basis(rule)}.",
        rule.reference or _basis(rule).capitalize(),
        "venue",
    )


def _best_before_warning(part: Part, house: House) -> Iterator[Finding]:
    if part.date_kind is DateKind.BEST_BEFORE and not house.best_before_binds and part.date_on:
        yield Finding(
            "lot.best_before",
            Severity.NOTE,
            f"The best-before of {part.name} is {_day(part.date_on)}. It speaks of quality and "
            "does not bind here.",
            "Date on the pack",
            "venue",
        )


def _unsigned(rules: Iterable[ShelfLife], part: Part | None) -> Iterator[Finding]:
    """A house rule or a study without a name and a date is nobody's word."""
    for rule in rules:
        needs_a_name = rule.basis in {Basis.HOUSE_RULE, Basis.LABORATORY_STUDY}
        if needs_a_name and not (rule.approved_by and rule.approved_on):
            subject = part.ingredient if part else "the drink in its keg"
            yield Finding(
                "shelf_life.unsigned",
                Severity.ASK,
                f"The rule that {subject} keeps {rule.length} names nobody who answers for it. "
                "Record who approved it and when.",
                "House rule of kegsafe",
            )


def _longer_than_the_code(part: Part, house: House, on: date, tcs: TcsVerdict) -> Iterator[Finding]:
    cap = date_marking_days(house, on)
    if cap is None or not tcs.treated_as_tcs or part.date_mark_exempt:
        return
    for rule in part.shelf_lives:
        if rule.days is not None and rule.days > int(cap.value):
            yield _rule_does_not_count(part.ingredient, rule, cap)


def _rule_does_not_count(subject: str, rule: ShelfLife, cap: EffectiveLimit) -> Finding:
    return Finding(
        "date_marking.longer_rule",
        Severity.WARN,
        f"The rule that {subject} keeps {rule.length} outlasts the code's {_days(int(cap.value))} "
        "and does not count: no current assessment is on record. To count, it needs a measured "
        "pH and water activity or a laboratory study, judged by a competent person, with name "
        "and date.",
        cap.citation,
        cap.verified,
    )


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


def _undated(until: str, why: str = "") -> Finding:
    statement = f"Cannot be dated until {until}."
    return Finding(
        "use_by.undated",
        Severity.ASK,
        f"{statement} {why}".strip(),
        "House rule of kegsafe: no date without evidence",
    )


def _instant(candidate: Candidate) -> datetime:
    # Python compares two times of one zone by the clock face, which comes twice in autumn.
    return candidate.ends_at.astimezone(UTC)


def _freezing(house: House, on: date) -> str:
    rule = "date_marking.freeze_counts"
    return str(house.code.limit(rule, on).value) if house.code.has(rule, on) else CONSERVATIVE


# Words


def _set_locally(house: House, rule: str) -> bool:
    return any(limit.rule == rule for limit in house.local_limits)


def _cite(assessment: ProductAssessment) -> str:
    return f"Assessment {assessment.reference}, {assessment.assessed_on:%Y-%m-%d}"


def _held_at(rule: ShelfLife) -> str:
    if rule.held_at_or_below_degc is None:
        return ""
    return f", held at or below {rule.held_at_or_below_degc.normalize():f} °C"


def _basis(rule: ShelfLife) -> str:
    words = {
        Basis.MAKER_LABEL: "maker's label",
        Basis.CODE_CLAUSE: "clause of the code",
        Basis.LABORATORY_STUDY: "laboratory study",
        Basis.HOUSE_RULE: "house rule",
    }[rule.basis]
    return f"{words}, by {rule.approved_by}" if rule.approved_by else words


def _day(day: date) -> str:
    return f"{day:%Y-%m-%d (%a)}"


def _days(number: int) -> str:
    return f"{number} day" if number == 1 else f"{number} days"
