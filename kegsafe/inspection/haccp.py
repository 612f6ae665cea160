"""The HACCP summary as it stands: the venue's own words, with the limits and plans in force."""

from dataclasses import dataclass
from datetime import date

from kegsafe.cleaning.models import CleaningPlan
from kegsafe.frame.templatetags.kegsafe import limit_words, verified_word
from kegsafe.inspection.models import HaccpStep
from kegsafe.rules.haccp import TEXTS, StarterStep, starter_steps
from kegsafe.venues.models import Venue
from kegsafe.venues.queries import LimitRow, limit_rows

_CLEAN = "clean"


@dataclass(frozen=True, slots=True)
class SummaryStep:
    """One step of the summary. `own` is None while the venue has not adopted one."""

    starter: StarterStep
    own: HaccpStep | None
    in_force: tuple[str, ...]

    @property
    def name(self) -> str:
        return self.starter.name

    @property
    def is_critical(self) -> bool:
        return self.own.is_critical if self.own else self.starter.is_critical

    def text(self, name: str) -> str:
        """Return one of `TEXTS`, the venue's own where it has one."""
        return getattr(self.own, name) if self.own else self.starter.texts[name]

    @property
    def texts(self) -> tuple[tuple[str, str], ...]:
        """Return every text with its words for a heading."""
        return tuple((heading(name), self.text(name)) for name in TEXTS)


def heading(name: str) -> str:
    """Return how a text is called: 'Critical limits'."""
    return str(HaccpStep._meta.get_field(name).verbose_name).capitalize()


def summary_of(venue: Venue, on: date) -> list[SummaryStep]:
    """Return every step with the limits and plans in force on a day: three queries."""
    own = {each.step: each for each in HaccpStep.objects.filter(venue=venue)}
    limits = {row.rule.rule: row for row in limit_rows(venue, on)}
    plans = _plans(venue)
    return [
        SummaryStep(
            starter,
            own.get(key),
            (*_limits(starter, limits), *(plans if key == _CLEAN else ())),
        )
        for key, starter in starter_steps().items()
    ]


def _limits(starter: StarterStep, rows: dict[str, LimitRow]) -> tuple[str, ...]:
    return tuple(_said(rows[rule]) for rule in starter.limits if rule in rows)


def _said(row: LimitRow) -> str:
    meaning = f"{row.rule.meaning[:1].upper()}{row.rule.meaning[1:]}"
    if row.governs is None:
        return f"{meaning}: no number is on file. {row.silence}"
    limit = row.governs.local or row.governs.limit
    source = f"{row.governs.citation}, {verified_word(row.governs.verified)}"
    return f"{meaning}: {limit_words(limit)} ({source})."


def _plans(venue: Venue) -> tuple[str, ...]:
    in_force = CleaningPlan.objects.filter(venue=venue, replaced_on=None).order_by("name")
    return tuple(f"Cleaning plan: {plan}, in force from {plan.valid_from}." for plan in in_force)
