"""Draws from lots, and what changes with them: the strength of all that was made of them."""

from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.batches.mass_balance import Strength, of_lot, strength_of
from kegsafe.batches.models import Batch, Draw, Preparation
from kegsafe.ledger.services import Recorder, amend, create, record, take_turn
from kegsafe.stock import services as stock
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import Lot, Measure
from kegsafe.stock.services.decimal_places import in_places_of


class NewDraw(NamedTuple):
    """An amount to take from a lot, in the lot's base unit, and what was typed."""

    lot: Lot
    amount: Decimal
    typed: str


def draw(
    wanted: NewDraw,
    *,
    into: Batch | Preparation,
    drawn_at: datetime,
    by: Recorder,
) -> Draw:
    """Take an amount out of a lot and record where it went, in the caller's transaction.

    Raises ValidationError when the lot, or a lot behind it, may not be used,
    when it holds too little, and when it would be drawn into itself.
    """
    _refuse_a_circle(wanted.lot, into)
    stock.draw_from_lot(lot=wanted.lot, amount=wanted.amount, drawn_at=drawn_at, by=by)
    drawn = Draw(
        lot=wanted.lot,
        batch=into if isinstance(into, Batch) else None,
        preparation=into if isinstance(into, Preparation) else None,
        amount_typed=wanted.typed,
        drawn_at=drawn_at,
        **in_places_of(Draw, {"amount": wanted.amount}),
    )
    create(drawn, by=by, action="drawn")
    return drawn


@transaction.atomic
def add_draw(
    *,
    into: Batch | Preparation,
    draw_wanted: NewDraw,
    drawn_at: datetime,
    reason: str,
    by: Recorder,
) -> Draw:
    """Record later what was drawn and not written down: it changes all that was made of it.

    Alcohol, sulphites and sugar are computed again for the batch or preparation
    and for everything it went into; the first figures stay in the ledger.

    Raises ValidationError as `draw`, and without a reason.
    """
    take_turn(by)
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is recorded only now: a few words do."})
    drawn = draw(draw_wanted, into=into, drawn_at=drawn_at, by=by)
    record(into, by=by, action="draw added", detail={"draw": str(drawn), "reason": reason.strip()})
    why = f"A draw was added: {drawn}. {reason.strip()}"
    if isinstance(into, Batch):
        _refresh_batch(into, why, by)
    else:
        _refresh_preparation(into, why, by)
    return drawn


def strength_of_draws(into: Batch | Preparation, measured_ml: Decimal | None) -> Strength:
    """Return what the draws on record come to."""
    draws = into.draws.select_related("lot__ingredient")
    return strength_of([of_lot(each.lot, each.amount) for each in draws], measured_ml)


def measured_ml_of(lot: Lot) -> Decimal | None:
    """Return the volume a preparation was measured at; None where it was weighed or counted."""
    return lot.amount_received if lot.measure == Measure.VOLUME else None


def _refresh_batch(batch: Batch, why: str, by: Recorder) -> None:
    strength = strength_of_draws(batch, batch.volume_ml)
    amend(batch, _columns(strength), by=by, reason=why, action="computed again")


def _refresh_preparation(made: Preparation, why: str, by: Recorder) -> None:
    strength = strength_of_draws(made, measured_ml_of(made.lot))
    amend(made.lot, _columns(strength), by=by, reason=why, action="computed again")
    for batch in Batch.objects.filter(draws__lot=made.lot).distinct():
        _refresh_batch(batch, why, by)
    for later in Preparation.objects.filter(draws__lot=made.lot).distinct().select_related("lot"):
        _refresh_preparation(later, why, by)


def _columns(strength: Strength) -> dict[str, Decimal | None]:
    return {
        "abv_percent": strength.abv_percent,
        "total_so2_mg_per_l": strength.total_so2_mg_per_l,
        "sugar_g_per_l": strength.sugar_g_per_l,
    }


def _refuse_a_circle(lot: Lot, into: Batch | Preparation) -> None:
    if isinstance(into, Batch):
        return
    if lot.pk == into.lot_id or into.lot_id in behind_lots([lot.pk])[lot.pk]:
        raise ValidationError(
            f"Lot {into.lot.code} went into lot {lot.code}, at first hand or further back. "
            "Nothing can be made of itself: choose another lot."
        )
