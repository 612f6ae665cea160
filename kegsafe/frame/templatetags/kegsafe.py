"""How moments, outcomes, quantities and marks are written on every page. Decides nothing."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import cache

from django import template
from django.template.loader import get_template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from kegsafe.quantities import Kind, write
from kegsafe.rules.codes import Limit, rules
from kegsafe.rules.degrees import degrees, degrees_apart
from kegsafe.rules.limits import LocalLimit
from kegsafe.rules.moments import at_moment, on_day

register = template.Library()

NOT_RECORDED = "not recorded"

_OUTCOME_WORDS = {"pour": "Pour", "ask": "Ask the manager", "stop": "Do not pour"}
_SEVERITY_WORDS = {"stop": "Stop", "ask": "Ask", "warn": "Worth knowing", "note": "In order"}
_VERIFIED_WORDS = {
    "read": "read in the source",
    "second-hand": "second-hand source",
    "memory": "from memory",
    "house": "house rule",
    "venue": "venue rule",
    "record": "on record",
    "computed": "computed",
}
_MESSAGE_MARKS = {
    "success": "note",
    "info": "note",
    "debug": "note",
    "warning": "warn",
    "error": "stop",
}


@register.filter
def local_time(moment: datetime | None) -> str:
    """Return a moment in the venue's zone: Tue 7 Apr 2026, 23:59.

    The hour that the autumn clock change repeats names its zone, as 01:30
    alone would be two moments.
    """
    if moment is None:
        return NOT_RECORDED
    return at_moment(moment, timezone.get_current_timezone())


@register.filter
def local_date(day: date | datetime | None) -> str:
    """Return a day that cannot be read two ways: Tue 7 Apr 2026."""
    if day is None:
        return NOT_RECORDED
    if isinstance(day, datetime):
        day = timezone.localtime(day).date()
    return on_day(day)


@register.filter
def time_left(moment: datetime | None) -> str:
    """Return how far off a moment is: 2 days 3 h left, or 4 h ago. Never more than is left."""
    if moment is None:
        return NOT_RECORDED
    gap = moment - timezone.now()
    if abs(gap) < timedelta(minutes=1):
        return "under 1 min left" if gap > timedelta() else "just now"
    return f"{duration(gap)} left" if gap > timedelta() else f"{duration(-gap)} ago"


@register.filter
def duration(span: timedelta | None) -> str:
    """Return a span in its two largest units, rounded down: 2 days 3 h, 45 min."""
    if span is None:
        return NOT_RECORDED
    minutes = int(span.total_seconds() // 60)
    days, hours, minutes = minutes // 1440, minutes // 60 % 24, minutes % 60
    if days:
        return _joined((days, "day" if days == 1 else "days"), (hours, "h"))
    return _joined((hours, "h"), (minutes, "min")) or "0 min"


@register.filter
def recorded(value: object) -> object:
    """Return the value, or say that there is none: a blank could be read as fine."""
    if value is None or value == "":
        return format_html('<span class="not-recorded">{}</span>', NOT_RECORDED)
    return value


@register.filter
def outcome_word(outcome: str) -> str:
    """Return the words of an outcome, as they stand on the plate."""
    return _OUTCOME_WORDS[outcome]


@register.filter
def severity_word(severity: str) -> str:
    """Return the word for how much a finding weighs."""
    return _SEVERITY_WORDS[severity]


@register.filter
def verified_word(tag: str) -> str:
    """Return how a source was seen, in words a reader understands."""
    return _VERIFIED_WORDS.get(tag, tag)


@register.simple_tag(takes_context=True)
def quantity(
    context: template.Context, value: Decimal | float | None, kind: str, *, both: bool = False
) -> str:
    """Return a quantity in the venue's units, or in both systems where it helps."""
    if value is None:
        return NOT_RECORDED
    venue = getattr(getattr(context, "request", None), "venue", None)
    return write(value, Kind(kind), getattr(venue, "units", "metric"), both=both)


@register.filter
def limit_words(limit: Limit | LocalLimit) -> str:
    """Return a limit with its unit; what is held against a thermometer on both scales."""
    if limit.unit != "degC":
        return limit.in_words
    is_apart = rules()[limit.rule].is_difference
    return degrees_apart(limit.value) if is_apart else degrees(limit.value)


@register.simple_tag
def icon(name: str) -> SafeString:
    """Return a small drawing from templates/frame/icons; it never stands without words."""
    return _drawing(f"frame/icons/{name}.svg")


@register.simple_tag
def mark(name: str) -> SafeString:
    """Return the shape of an outcome or a severity: ring, triangle, octagon, diamond, tick."""
    return _drawing(f"frame/marks/{name}.svg")


@register.simple_tag
def message_mark(level: str) -> SafeString:
    """Return the shape that goes with a message's level."""
    return mark(_MESSAGE_MARKS[level])


@cache
def _drawing(path: str) -> SafeString:
    """Drawings take nothing from the page: each is rendered once."""
    return get_template(path).render()


def _joined(*parts: tuple[int, str]) -> str:
    return " ".join(f"{count} {unit}" for count, unit in parts if count)
