"""How amounts, dates and allergenic sources of the stock room are written."""

from decimal import Decimal

from django import template

from kegsafe.quantities import write
from kegsafe.rules.allergen_lists import sources
from kegsafe.stock.models import Lot
from kegsafe.stock.services.drawing import KIND_OF

register = template.Library()


@register.simple_tag(takes_context=True)
def lot_amount(context: template.Context, lot: Lot, amount: Decimal, *, both: bool = False) -> str:
    """Return an amount of a lot, counted as the lot is, in the venue's units."""
    return write(amount, KIND_OF[lot.measure], context["request"].venue.units, both=both)


@register.filter
def date_words(date_kind: str) -> str:
    """Return what the date on a pack says: use by, best before."""
    return str(Lot.DateKind(date_kind).label).lower()


@register.filter
def source_name(key: str) -> str:
    """Return the name of an allergenic source."""
    return sources()[key].name
