"""Drawing from a lot: never more than is left, never from a lot that may not be used."""

from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind, write
from kegsafe.rules.drawing import draw_checks
from kegsafe.rules.findings import Severity
from kegsafe.stock.facts import house, parts_in_stock
from kegsafe.stock.models import Lot, Measure
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.stock.services.lots import locked_lot, set_and_record
from kegsafe.stock.services.moments import refuse_before_the_lot, refuse_later_than_now

KIND_OF = {
    Measure.VOLUME.value: Kind.VOLUME,
    Measure.MASS.value: Kind.MASS,
    Measure.COUNT.value: Kind.COUNT,
}
_OTHERS_NAMED = 5


@transaction.atomic
def draw_from_lot(*, lot: Lot, amount: Decimal, drawn_at: datetime, by: Recorder) -> Lot:
    """Take an amount (in the lot's base unit) out of a lot and return the lot as it is now.

    Locks the row, so that two draws at once never take the same drop. A bought
    pack not yet opened counts as opened by the draw; one opened later than this
    draw counts as opened by it too, the earlier time being the stricter.

    Raises ValidationError when the lot, or a lot behind it, may not be used
    (rejected, on hold, discarded, past its date, frozen) or holds too little; the
    message says why and names the other lots there are.
    """
    held = locked_lot(lot, by)
    refuse_later_than_now(drawn_at, "drawn_at")
    refuse_before_the_lot(drawn_at, held, "drawn_at")
    _refuse_unusable(held, drawn_at)
    drawn = in_places_of(Lot, {"amount_left": amount})["amount_left"]
    _refuse_impossible(held, drawn)
    changes = {"amount_left": held.amount_left - drawn, "opened_at": _opened_by(held, drawn_at)}
    return set_and_record(held, changes, by=by, action="drawn from", amount=drawn, at=drawn_at)


def _opened_by(lot: Lot, drawn_at: datetime) -> datetime | None:
    if lot.ingredient.made_in_house:
        return lot.opened_at
    return min(drawn_at, lot.opened_at or drawn_at)


def _refuse_unusable(lot: Lot, at: datetime) -> None:
    if lot.frozen_spans.filter(thawed_at=None).exists():
        raise ValidationError(
            f"{lot.ingredient} (lot {lot.code}) is in the freezer. Record when it was thawed, or "
            f"take another lot. {_others(lot)}"
        )
    part = parts_in_stock([lot.pk], lot.venue.zone)[lot.pk]
    findings = draw_checks(part, house(lot.venue), at)
    stops = [each.statement for each in findings if each.severity is Severity.STOP]
    if stops:
        raise ValidationError(f"{' '.join(stops)} {_others(lot)}")


def _refuse_impossible(lot: Lot, drawn: Decimal) -> None:
    if drawn <= 0:
        raise ValidationError({"amount": "An amount is more than nothing: 700 ml, for example."})
    if drawn > lot.amount_left:
        raise ValidationError(
            {
                "amount": f"{_written(lot, drawn)} of {lot.ingredient} is more than lot "
                f"{lot.code} holds: {_written(lot, lot.amount_left)} left. {_others(lot)}"
            }
        )


def _others(lot: Lot) -> str:
    others = Lot.objects.filter(
        venue=lot.venue_id,
        ingredient=lot.ingredient_id,
        status=Lot.Status.ACCEPTED,
        amount_left__gt=0,
    ).exclude(pk=lot.pk)
    named = [
        f"{other.code} ({_written(other, other.amount_left)})"
        for other in others.order_by("came_into_being_at")[:_OTHERS_NAMED]
    ]
    if not named:
        return f"There is no other lot of {lot.ingredient}."
    return f"Other lots of {lot.ingredient}: {', '.join(named)}."


def _written(lot: Lot, amount: Decimal) -> str:
    return write(amount, KIND_OF[lot.measure], lot.venue.units)
