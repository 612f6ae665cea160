"""How due dates and plates are written on the pages of pressure equipment. Decides nothing."""

from datetime import date
from decimal import Decimal

from django import template
from django.template.loader import get_template
from django.utils.safestring import SafeString

from kegsafe.frame.templatetags.kegsafe import local_date
from kegsafe.pressure.forms.items import ALARMS, PLATES, QUANTITIES
from kegsafe.pressure.models import Item
from kegsafe.quantities import write
from kegsafe.rules.pressure.cylinders import rules
from kegsafe.rules.pressure.due import DueState
from kegsafe.venues.models import Venue

register = template.Library()

_WORDS = {
    DueState.NOT_KNOWN: "Not known: treat as due",
    DueState.OVERDUE: "Overdue",
    DueState.SOON: "Due soon",
    DueState.LATER: "Not yet due",
    DueState.EACH_FILL: "Before each fill",
    DueState.NOT_ASKED: "Not asked for",
}
_SEVERITIES = {
    DueState.NOT_KNOWN: "ask",
    DueState.OVERDUE: "stop",
    DueState.SOON: "warn",
    DueState.LATER: "note",
    DueState.EACH_FILL: "note",
    DueState.NOT_ASKED: "note",
}


@register.filter
def due_word(state: str) -> str:
    """Return how near a date is, in words."""
    return _WORDS[DueState(state)]


@register.filter
def due_severity(state: str) -> str:
    """Return the weight that a state is drawn with."""
    return _SEVERITIES[DueState(state)]


@register.simple_tag
def due_mark(state: str) -> SafeString:
    """Return the shape that goes with a state; it never stands without its word."""
    return get_template(f"frame/marks/{due_severity(state)}.svg").render()


@register.filter
def plate_rows(item: Item, venue: Venue) -> list[tuple[str, str | None]]:
    """Return what an item's plate says, label by label, as far as its kind has it."""
    shown = []
    for name, (field, kind) in QUANTITIES.items():
        value: Decimal | None = getattr(item, field)
        if _belongs(item, name):
            text = None if value is None else write(value, kind, venue.units, both=True)
            shown.append((_label(field), text))
    for name, field in ALARMS.items():
        if _belongs(item, name):
            ppm = getattr(item, field)
            shown.append((_label(field), None if ppm is None else f"{ppm} ppm"))
    return shown + _stamps(item)


def _stamps(item: Item) -> list[tuple[str, str | None]]:
    if item.kind != Item.Kind.CYLINDER:
        last = item.replace_by and local_date(item.replace_by)
        return [("Maker's date mark", _month(item.marked_on)), ("Replace by", last)]
    rule = rules().get(item.cylinder_rule)
    return [
        ("Specification", rule[-1].cylinder_type if rule else None),
        ("Last test stamp", _month(item.stamped_on)),
        ("Day given by owner or permit", item.requalify_by and local_date(item.requalify_by)),
        ("Owner of the cylinder", item.owner),
    ]


def _belongs(item: Item, name: str) -> bool:
    return name in PLATES[item.kind]


def _month(day: date | None) -> str | None:
    return None if day is None else f"{day:%m/%Y}"


def _label(field: str) -> str:
    name = str(Item._meta.get_field(field).verbose_name)
    return name[:1].upper() + name[1:]  # CO2 keeps its capitals
