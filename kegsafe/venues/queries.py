"""What is asked about a venue: its limits beside its code's."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from kegsafe.rules.codes import WORD, Limit, MissingRule, Rule
from kegsafe.rules.limits import EffectiveLimit, effective_limit
from kegsafe.venues.models import LocalLimit, Venue


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One rule: what the code says, what the venue set, what governs today.

    `code_limit` is None where the code fixes nothing; `silence` then says so.
    """

    rule: Rule
    code_limit: Limit | None
    silence: str
    own: tuple[LocalLimit, ...]
    governs: EffectiveLimit | None


def limit_rows(venue: Venue, on: date) -> list[LimitRow]:
    """Return every rule that is a number with the venue's own limits beside it, in one query."""
    own: dict[str, list[LocalLimit]] = defaultdict(list)
    for limit in LocalLimit.objects.filter(venue=venue, withdrawn_at=None):
        own[limit.rule].append(limit)
    meanings = venue.code.meanings.values()
    return [_row(venue, rule, on, own[rule.rule]) for rule in meanings if rule.unit != WORD]


def _row(venue: Venue, rule: Rule, on: date, own: list[LocalLimit]) -> LimitRow:
    code_limit, silence = None, ""
    try:
        code_limit = venue.code.limit(rule.rule, on)
    except MissingRule as missing:
        silence = str(missing)
    return LimitRow(rule, code_limit, silence, tuple(own), _governing(venue, rule, on, own))


def _governing(venue: Venue, rule: Rule, on: date, own: list[LocalLimit]) -> EffectiveLimit | None:
    try:
        return effective_limit(venue.code, rule.rule, on, [limit.as_fact() for limit in own])
    except MissingRule:
        return None
