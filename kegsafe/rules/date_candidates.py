"""One reason a drink or a lot must be gone by a moment, and the words it is given in."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from kegsafe.rules.codes import MissingRule
from kegsafe.rules.date_marking import (
    CONSERVATIVE,
    counted_last_date,
    day_one,
    elapsed_end,
    end_of,
)
from kegsafe.rules.degrees import degrees
from kegsafe.rules.facts import Basis, House, Part, ShelfLife, Trigger
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.limits import EffectiveLimit, effective_limit
from kegsafe.rules.moments import at_moment, on_day

DATE_MARKING = "date_marking.days"


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
            evidence=(("ends", at_moment(self.ends_at)),),
        )


def date_marking_days(house: House, on: date) -> EffectiveLimit | None:
    """Return the day count that binds a TCS food here, or None where the code sets none."""
    return limit_if_any(house, DATE_MARKING, on)


def limit_if_any(house: House, rule: str, on: date) -> EffectiveLimit | None:
    """Return the limit that governs a rule, or None where neither code nor venue fixes one."""
    try:
        return effective_limit(house.code, rule, on, house.local_limits)
    except MissingRule:
        return None


_VERBS = {
    Trigger.OPENED: "was opened",
    Trigger.PREPARED: "was prepared",
    Trigger.THAWED: "was thawed",
    Trigger.KEGGED: "was filled",
}


def shelf_life_candidate(
    rule: ShelfLife,
    began: datetime,
    house: House,
    name: str,
    part: Part | None = None,
) -> Candidate:
    """Return when a rule that began at a moment ends; `part` is None for the drink in its keg."""
    is_prepared = part is not None and rule.trigger is Trigger.PREPARED
    first = day_one(began, house.zone, part.business_date if part and is_prepared else None)
    if rule.days is not None:
        # A drink in its keg is not frozen; a lot may be, again, after its first thaw.
        in_stock = part if rule.trigger is not Trigger.KEGGED else None
        still_frozen = () if in_stock is None else in_stock.frozen
        last = counted_last_date(first, rule.days, still_frozen, freeze_convention(house, first))
        ends_at = end_of(last, house.zone)
        paused = frozen_in_words(first, last, rule.days)
    else:
        assert rule.hours is not None  # noqa: S101 - one of the two is set, see ShelfLife
        ends_at = elapsed_end(began, rule.hours).astimezone(house.zone)
        paused = ""
    return Candidate(
        ends_at,
        rule.id,
        f"{name} {_VERBS[rule.trigger]} on {on_day(first)} and keeps {rule.length} from then"
        f"{_held_at(rule)}{paused}: {_basis(rule)}.",
        rule.reference or _sentence_case(_basis(rule)),
        "venue",
    )


def unsigned_rules(rules: Iterable[ShelfLife], part: Part | None) -> Iterator[Finding]:
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


def rule_does_not_count(subject: str, rule: ShelfLife, cap: EffectiveLimit) -> Finding:
    """Say that a longer rule waits for evidence, and which evidence that would be."""
    return Finding(
        "date_marking.longer_rule",
        Severity.WARN,
        f"The rule that {subject} keeps {rule.length} outlasts the code's "
        f"{in_days(int(cap.value))} and does not count: no current assessment is on record. To "
        "count, it needs a measured pH and water activity or a laboratory study, judged by a "
        "competent person, with name and date.",
        cap.citation,
        cap.verified,
    )


def undated(until: str, why: str = "") -> Finding:
    """Say what must be on record before a date can be given."""
    statement = f"Cannot be dated until {until}."
    return Finding(
        "use_by.undated",
        Severity.ASK,
        f"{statement} {why}".strip(),
        "House rule of kegsafe: no date without evidence",
    )


def freeze_convention(house: House, on: date) -> str:
    """Return how the code counts around freezing, the careful way where it says nothing."""
    rule = "date_marking.freeze_counts"
    return str(house.code.limit(rule, on).value) if house.code.has(rule, on) else CONSERVATIVE


def frozen_in_words(first: date, last: date, days: int) -> str:
    """Return how many days in the freezer a count leaves out, in words; nothing where none is.

    >>> frozen_in_words(date(2026, 10, 1), date(2026, 10, 13), 7)
    ', with 6 days left out in which it was frozen'
    """
    left_out = (last - first).days + 1 - days
    return f", with {in_days(left_out)} left out in which it was frozen" if left_out else ""


def in_days(number: int) -> str:
    """Return a number of days in words: 1 day, 7 days."""
    return f"{number} day" if number == 1 else f"{number} days"


def _held_at(rule: ShelfLife) -> str:
    if rule.held_at_or_below_degc is None:
        return ""
    return f", held at or below {degrees(rule.held_at_or_below_degc)}"


def _sentence_case(words: str) -> str:
    # str.capitalize would lower the names of people.
    return words[:1].upper() + words[1:]


def _basis(rule: ShelfLife) -> str:
    words = {
        Basis.MAKER_LABEL: "maker's label",
        Basis.CODE_CLAUSE: "clause of the code",
        Basis.LABORATORY_STUDY: "laboratory study",
        Basis.HOUSE_RULE: "house rule",
    }[rule.basis]
    return f"{words}, by {rule.approved_by}" if rule.approved_by else words
