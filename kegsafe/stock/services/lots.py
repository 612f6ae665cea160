"""What happens to a lot: made, opened, held, released, discarded, rejected, frozen, thawed."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction

from kegsafe.ledger.services import Recorder, amend, create, record, take_turn
from kegsafe.stock.models import FrozenSpan, Ingredient, Lot
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.stock.services.deliveries import next_lot_code
from kegsafe.stock.services.moments import refuse_before_the_lot, refuse_later_than_now
from kegsafe.venues.models import Venue


@transaction.atomic
def make_lot(
    *,
    venue: Venue,
    ingredient: Ingredient,
    measure: str,
    amount: Decimal,
    amount_typed: str,
    came_into_being_at: datetime,
    by: Recorder,
    code: str | None = None,
    place: models.Model | None = None,
    abv_percent: Decimal | None = None,
    total_so2_mg_per_l: Decimal | None = None,
    sugar_g_per_l: Decimal | None = None,
    date_kind: str = Lot.DateKind.NONE,
    date_on: date | None = None,
) -> Lot:
    """Record the lot a preparation yields, under the next code of its day unless given one."""
    take_turn(by)
    refuse_later_than_now(came_into_being_at, "came_into_being_at")
    measured = {
        "amount_received": amount,
        "amount_left": amount,
        "abv_percent": abv_percent,
        "total_so2_mg_per_l": total_so2_mg_per_l,
        "sugar_g_per_l": sugar_g_per_l,
    }
    lot = Lot(
        venue=venue,
        ingredient=ingredient,
        code=code or next_lot_code(venue, venue.local(came_into_being_at).date()),
        measure=measure,
        amount_typed=amount_typed,
        came_into_being_at=came_into_being_at,
        place=place,
        date_kind=date_kind,
        date_on=date_on,
        **in_places_of(Lot, measured),
    )
    create(lot, by=by, action="made")
    return lot


@transaction.atomic
def amend_lot(
    *,
    lot: Lot,
    amount: Decimal,
    amount_typed: str,
    supplier_lot_code: str,
    date_kind: str,
    date_on: date | None,
    place: models.Model | None,
    arrival_temperature_degc: Decimal | None,
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Lot:
    """Correct what was recorded at the door, with the reason.

    A corrected amount moves what is left by the same difference; it cannot fall
    below what was already drawn.
    """
    held = locked_lot(lot, by)
    received = in_places_of(Lot, {"amount_received": amount})["amount_received"]
    drawn = held.amount_received - held.amount_left
    if received < drawn:
        raise ValidationError(
            {"amount": f"More than that was already drawn from lot {held.code}. Check the amount."}
        )
    changes = {
        "amount_received": received,
        "amount_left": received - drawn,
        "amount_typed": amount_typed,
        "supplier_lot_code": supplier_lot_code.strip(),
        "date_kind": date_kind,
        "date_on": date_on,
        "place": place,
        "arrival_temperature_degc": arrival_temperature_degc,
    }
    amend(lot, in_places_of(Lot, changes), by=by, reason=reason, seen_sequence=seen_sequence)
    return lot


@transaction.atomic
def open_lot(*, lot: Lot, opened_at: datetime, by: Recorder) -> Lot:
    """Record that a pack was opened: its after-opening shelf life runs from then.

    An earlier opening found out later counts; a later one never moves the clock on.
    """
    held = locked_lot(lot, by)
    refuse_later_than_now(opened_at, "opened_at")
    refuse_before_the_lot(opened_at, held, "opened_at")
    _refuse_out_of_use(held)
    if held.opened_at is not None and held.opened_at <= opened_at:
        raise ValidationError(
            f"Lot {held.code} was already opened {held.venue.local(held.opened_at):%Y-%m-%d %H:%M}."
        )
    return set_and_record(held, {"opened_at": opened_at}, by=by, action="opened")


@transaction.atomic
def hold_lot(*, lot: Lot, reason: str, by: Recorder) -> Lot:
    """Put a lot on hold: nothing is drawn from it until it is released."""
    held = locked_lot(lot, by)
    _refuse_out_of_use(held)
    if held.status == Lot.Status.ON_HOLD:
        raise ValidationError(f"Lot {held.code} is already on hold: {held.status_reason}.")
    return _set_status(held, Lot.Status.ON_HOLD, reason, by=by, action="put on hold")


@transaction.atomic
def release_lot(*, lot: Lot, reason: str, by: Recorder) -> Lot:
    """Release a lot from hold; the reason stays in the ledger."""
    held = locked_lot(lot, by)
    if held.status != Lot.Status.ON_HOLD:
        raise ValidationError(f"Lot {held.code} is not on hold, so there is nothing to release.")
    said = _reason(reason)
    changes = {"status": Lot.Status.ACCEPTED, "status_reason": ""}
    return set_and_record(held, changes, by=by, action="released", reason=said)


@transaction.atomic
def discard_lot(*, lot: Lot, reason: str, by: Recorder) -> Lot:
    """Discard what is left of a lot. `amount_left` then says how much was thrown away."""
    held = locked_lot(lot, by)
    _refuse_out_of_use(held)
    return _set_status(held, Lot.Status.DISCARDED, reason, by=by, action="discarded")


@transaction.atomic
def reject_lot(*, lot: Lot, reason: str, by: Recorder) -> Lot:
    """Turn a lot away after all: only while nothing was drawn from it."""
    held = locked_lot(lot, by)
    _refuse_out_of_use(held)
    if held.amount_left != held.amount_received:
        raise ValidationError(
            f"Lot {held.code} is already in use, so it cannot be sent back. Put it on hold, or "
            "discard what is left."
        )
    return _set_status(held, Lot.Status.REJECTED, reason, by=by, action="rejected")


@transaction.atomic
def freeze_lot(*, lot: Lot, frozen_at: datetime, by: Recorder) -> FrozenSpan:
    """Record that a lot went into the freezer: whole days there are not counted."""
    held = locked_lot(lot, by)
    refuse_later_than_now(frozen_at, "frozen_at")
    refuse_before_the_lot(frozen_at, held, "frozen_at")
    _refuse_out_of_use(held)
    last = held.frozen_spans.order_by("-frozen_at").first()
    if last is not None and last.thawed_at is None:
        raise ValidationError(f"Lot {held.code} is already in the freezer.")
    if last is not None and frozen_at < last.thawed_at:
        raise ValidationError(
            {"frozen_at": "It was still frozen then. Enter a time after it was last thawed."}
        )
    span = FrozenSpan(lot=held, frozen_at=frozen_at)
    create(span, by=by, action="frozen")
    return span


@transaction.atomic
def thaw_lot(*, lot: Lot, thawed_at: datetime, by: Recorder) -> FrozenSpan:
    """Record that a lot came out of the freezer: its after-thawing shelf life runs from then."""
    held = locked_lot(lot, by)
    refuse_later_than_now(thawed_at, "thawed_at")
    span = held.frozen_spans.filter(thawed_at=None).first()
    if span is None:
        raise ValidationError(f"Lot {held.code} is not in the freezer.")
    span.thawed_at = thawed_at
    span.full_clean()
    span.save()
    record(span, by=by, action="thawed")
    return span


def locked_lot(lot: Lot, by: Recorder) -> Lot:
    """Return the lot as it stands now, locked until the transaction ends."""
    take_turn(by)
    return (
        Lot.objects.select_for_update(of=("self",))
        .select_related("venue", "ingredient")
        .get(pk=lot.pk)
    )


def set_and_record(
    lot: Lot, changes: Mapping[str, Any], *, by: Recorder, action: str, **detail: Any
) -> Lot:
    """Save new values of a locked lot with its ledger entry."""
    for name, value in changes.items():
        setattr(lot, name, value)
    lot.full_clean()
    lot.save()
    record(lot, by=by, action=action, detail=detail)
    return lot


def _set_status(lot: Lot, status: str, reason: str, *, by: Recorder, action: str) -> Lot:
    said = _reason(reason)
    changes = {"status": status, "status_reason": said}
    return set_and_record(lot, changes, by=by, action=action, reason=said)


def _reason(reason: str) -> str:
    if not reason.strip():
        raise ValidationError({"reason": "Say why: a few words are enough."})
    return reason.strip()


def _refuse_out_of_use(lot: Lot) -> None:
    if lot.status in {Lot.Status.DISCARDED, Lot.Status.REJECTED}:
        raise ValidationError(
            f"Lot {lot.code} was {lot.get_status_display().lower()}: {lot.status_reason}. "
            "Nothing more happens to it."
        )
