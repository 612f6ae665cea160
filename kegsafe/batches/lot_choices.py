"""Which lots may be drawn from now, which may not and why, and which to take first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.db.models import Q

from kegsafe.rules.drawing import draw_checks
from kegsafe.rules.findings import Severity
from kegsafe.stock.models import Lot
from kegsafe.stock.standing import Stand, Standing, standings
from kegsafe.venues.models import Venue

# A lot turned away is named to whoever looks for it, for as long as somebody may.
_REJECTED_SHOWN_FOR = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class LotChoice:
    """A lot with something left: when it ends, and why it may not be drawn ('' when it may)."""

    lot: Lot
    ends_at: datetime | None
    why_not: str

    @property
    def may_be_drawn(self) -> bool:
        return not self.why_not


def lot_choices(
    venue: Venue, at: datetime, *, ingredients: Iterable[int] | None = None
) -> list[LotChoice]:
    """Return the lots with something left, oldest first: five queries, whatever their number.

    A preparation is judged with every lot behind it, at any depth.
    """
    in_stock = Q(status__in=(Lot.Status.ACCEPTED, Lot.Status.ON_HOLD)) | Q(
        status=Lot.Status.REJECTED, came_into_being_at__gte=at - _REJECTED_SHOWN_FOR
    )
    lots = Lot.objects.filter(in_stock, venue=venue, amount_left__gt=0)
    if ingredients is not None:
        lots = lots.filter(ingredient__in=ingredients)
    return judged(list(lots.select_related("ingredient").order_by("came_into_being_at")), venue, at)


def judged(lots: Sequence[Lot], venue: Venue, at: datetime) -> list[LotChoice]:
    """Return whether each lot may be drawn from, with every lot behind it, in the order given."""
    return [_choice(each) for each in standings(lots, venue, at)]


def propose(
    choices: Iterable[LotChoice], ingredient: int, amount: Decimal
) -> list[tuple[LotChoice, Decimal]]:
    """Return how to take an amount of an ingredient: the oldest lot first, then the next.

    The amounts add up to less than asked for when the lots do not hold enough.
    """
    taken: list[tuple[LotChoice, Decimal]] = []
    for choice in choices:
        if amount <= 0:
            break
        if choice.may_be_drawn and choice.lot.ingredient_id == ingredient:
            part = min(choice.lot.amount_left, amount)
            taken.append((choice, part))
            amount -= part
    return taken


def _choice(standing: Standing) -> LotChoice:
    findings = draw_checks(standing.part, standing.house, standing.asked_at)
    reasons = [each.statement for each in findings if each.severity is Severity.STOP]
    if standing.stand is Stand.FROZEN:
        reasons.append("It is in the freezer: record when it was thawed.")
    return LotChoice(standing.lot, standing.ends_at, " ".join(reasons))
